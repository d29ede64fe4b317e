import { randomBytes, randomUUID } from 'node:crypto'
import { appendAudit } from '@/lib/audit/append'
import { insertRows } from '@/lib/db/bulk'
import type { Tx } from '@/lib/db/client'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { issuePlan, type OpenIssue } from './core/issue-plan'
import { SERIAL_LENGTH, serialFrom } from './core/serial'

/** Of more people at once the audit says only how many certificates changed, not each. */
const TOLD_ONE_BY_ONE = 5

interface By {
  accountId: string | null
  at: Date
}

/** The certificates of some people (all of the county when left out) that are open, with what they state. */
async function readOpen(tx: Tx, countyId: string, workerIds: string[] | undefined, today: CivilDate) {
  const of = { countyId, ...(workerIds ? { pollWorkerId: { in: workerIds } } : {}) }
  const notOver = { OR: [{ validUntil: null }, { validUntil: { gt: today } }] }
  const spans = await tx.certificateSpan.findMany({ where: { ...of, ...notOver } })
  const certificates = await tx.certificate.findMany({
    where: of,
    select: {
      id: true,
      pollWorkerId: true,
      certificateKey: true,
      number: true,
      revokedAt: true,
      issues: {
        where: { withdrawnAt: null, ...notOver },
        select: { id: true, validFrom: true, validUntil: true },
      },
    },
  })
  const names = await tx.pollWorker.findMany({
    where: { id: { in: [...new Set(spans.map((span) => span.pollWorkerId))] } },
    select: { id: true, givenName: true, familyName: true },
  })
  return { spans, certificates, names }
}

type Open = Awaited<ReturnType<typeof readOpen>>

function byPersonAndKind<R extends { pollWorkerId: string; certificateKey: string }>(rows: readonly R[]) {
  const groups = new Map<string, R[]>()
  for (const row of rows) {
    const key = `${row.pollWorkerId} ${row.certificateKey}`
    const group = groups.get(key)
    if (group) group.push(row)
    else groups.set(key, [row])
  }
  return groups
}

/** What to write: for each person and kind its plan, and the certificate that the issues belong to. */
function plansOf({ spans, certificates }: Open, today: CivilDate) {
  const spansBy = byPersonAndKind(spans)
  const certificatesBy = byPersonAndKind(certificates)
  return [...new Set([...spansBy.keys(), ...certificatesBy.keys()])].flatMap((key) => {
    const [workerId, certificateKey] = key.split(' ') as [string, string]
    const numbers = certificatesBy.get(key) ?? []
    const open = numbers.find((certificate) => certificate.revokedAt === null)
    const issues = (open?.issues ?? []).map(
      (issue) => ({ id: issue.id, from: issue.validFrom, until: issue.validUntil }) as OpenIssue,
    )
    const held = (spansBy.get(key) ?? []).map((span) => ({
      from: span.validFrom as CivilDate,
      until: span.validUntil as CivilDate | null,
    }))
    const plan = issuePlan(held, issues, today)
    if (plan.issue.length + plan.withdraw.length === 0) return []
    const lastNumber = Math.max(0, ...numbers.map((certificate) => certificate.number))
    return [{ workerId, certificateKey, openId: open?.id ?? null, lastNumber, plan }]
  })
}

/** Brings the issued certificates in line with the spans, in the caller's transaction: a span gets a certificate whose
 *  number stays through renewals; other dates make a new issue; one that states more than holds is withdrawn, which
 *  sets its bit in the status list. Done twice it does nothing the second time. Call it after the spans are written. */
export async function syncCertificates(
  tx: Tx,
  by: By,
  countyId: string,
  workerIds?: string[],
): Promise<{ issued: number; withdrawn: number }> {
  const county = await tx.county.findUniqueOrThrow({ where: { id: countyId }, select: { timeZone: true } })
  const today = civilDateAt(by.at, county.timeZone)
  const open = await readOpen(tx, countyId, workerIds, today)
  const plans = plansOf(open, today)
  if (plans.length === 0) return { issued: 0, withdrawn: 0 }
  const nameOf = new Map(open.names.map((w) => [w.id, `${w.givenName} ${w.familyName}`]))
  const withIds = plans.map((p) => ({ ...p, certificateId: p.openId ?? randomUUID() }))
  const created = withIds
    .filter((p) => p.openId === null)
    .map((p) => ({
      id: p.certificateId,
      countyId,
      pollWorkerId: p.workerId,
      certificateKey: p.certificateKey,
      number: p.lastNumber + 1,
      serial: serialFrom(randomBytes(SERIAL_LENGTH)),
      createdAt: by.at,
    }))
  const issues = withIds.flatMap((p) =>
    p.plan.issue.map((span) => ({
      id: randomUUID(),
      certificateId: p.certificateId,
      countyId,
      validFrom: span.from,
      validUntil: span.until,
      holderName: nameOf.get(p.workerId)!,
      issuedAt: by.at,
      workerId: p.workerId,
      certificateKey: p.certificateKey,
    })),
  )
  const withdrawn = withIds.flatMap((p) => p.plan.withdraw.map((id) => ({ id, workerId: p.workerId })))
  await insertRows(tx, 'Certificate', created)
  await insertRows(
    tx,
    'CertificateIssue',
    issues.map(({ workerId: _w, certificateKey: _c, ...row }) => row),
  )
  if (withdrawn.length > 0)
    await tx.certificateIssue.updateMany({
      where: { id: { in: withdrawn.map((issue) => issue.id) } },
      data: { withdrawnAt: by.at },
    })
  await recordSync(tx, by, countyId, {
    issues,
    withdrawn,
    inOne: workerIds === undefined || workerIds.length > TOLD_ONE_BY_ONE,
  })
  return { issued: issues.length, withdrawn: withdrawn.length }
}

/** One audit record for each certificate of a person; one for all when a county is brought up to date. */
async function recordSync(
  tx: Tx,
  by: By,
  countyId: string,
  done: {
    issues: {
      id: string
      workerId: string
      certificateKey: string
      validFrom: string
      validUntil: string | null
    }[]
    withdrawn: { id: string; workerId: string }[]
    inOne: boolean
  },
): Promise<void> {
  const link = { chain: countyId, actorAccountId: by.accountId, at: by.at }
  if (done.inOne)
    return appendAudit(tx, link, {
      event: 'certificates.brought-up-to-date',
      subject: `county:${countyId}`,
      detail: { issued: done.issues.length, withdrawn: done.withdrawn.length },
    })
  for (const { id, workerId } of done.withdrawn)
    await appendAudit(tx, link, {
      event: 'certificate.withdrawn',
      subject: `worker:${workerId}`,
      detail: { issueId: id },
    })
  for (const { id, workerId, certificateKey, validFrom, validUntil } of done.issues)
    await appendAudit(tx, link, {
      event: 'certificate.issued',
      subject: `worker:${workerId}`,
      detail: { issueId: id, certificateKey, validFrom, validUntil },
    })
}
