import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import type { BothLanguages } from './schema'

const UUID = /^[0-9a-f-]{36}$/
const notThere = () =>
  new AppError('NOT_FOUND', {
    userMessage: 'There is no such certificate.',
    userMessageEs: 'No existe ese certificado.',
  })

/** What a certificate is called: the position that asks for it, else its key. */
export async function roleNameOf(countyId: string, certificateKey: string): Promise<BothLanguages> {
  const position = await db().position.findFirst({
    where: { countyId, certificateKey },
    orderBy: { rank: 'asc' },
    select: { nameEn: true, nameEs: true },
  })
  return position ? { en: position.nameEn, es: position.nameEs } : { en: certificateKey, es: certificateKey }
}

export interface IssueSummary {
  id: string
  certificateId: string
  workerId: string
  countyId: string
  countyName: string
  timeZone: string
  serial: string
  certificateKey: string
  roleName: BothLanguages
  holderName: string
  validFrom: CivilDate
  /** First day without it; null: no end. */
  validUntil: CivilDate | null
  issuedAt: Date
  statusNumber: number
  credential: string | null
}

/** One issue that still counts, for its holder or for whoever may read people in its county. @throws AppError NOT_FOUND */
export async function getIssueOrThrow(actor: Actor, issueId: string): Promise<IssueSummary> {
  if (!UUID.test(issueId)) throw notThere()
  const issue = await db().certificateIssue.findUnique({
    where: { id: issueId },
    include: { certificate: { include: { pollWorker: { include: { county: true } } } } },
  })
  if (!issue) throw notThere()
  const { certificate } = issue
  const { county } = certificate.pollWorker
  if (actor.pollWorkerId !== certificate.pollWorkerId) assertCan(actor, 'readPeople', certificate.countyId)
  if (issue.withdrawnAt) throw notThere()
  return {
    id: issue.id,
    certificateId: certificate.id,
    workerId: certificate.pollWorkerId,
    countyId: county.id,
    countyName: county.name,
    timeZone: county.timeZone,
    serial: certificate.serial,
    certificateKey: certificate.certificateKey,
    roleName: await roleNameOf(county.id, certificate.certificateKey),
    holderName: issue.holderName,
    validFrom: issue.validFrom as CivilDate,
    validUntil: issue.validUntil as CivilDate | null,
    issuedAt: issue.issuedAt,
    statusNumber: issue.statusNumber,
    credential: issue.credential,
  }
}

export type CertificateState = 'valid' | 'notYetValid' | 'expired' | 'revoked'

export interface CertificateCard {
  certificateId: string
  certificateKey: string
  roleName: BothLanguages
  serial: string
  state: CertificateState
  /** The issue that counts: of today, else the next, else the last. Null once revoked. */
  issueId: string | null
  validFrom: CivilDate | null
  validUntil: CivilDate | null
  revokedOn: CivilDate | null
  revokedBecause: string | null
  /** Revoked by staff, and that was not taken back yet. */
  canBeGivenBack: boolean
}

interface IssueRow {
  id: string
  validFrom: string
  validUntil: string | null
  holderName: string
  issuedAt: Date
  withdrawnAt: Date | null
}

/** Which issue of a certificate speaks for it on a day, and what it says. Half-open: ended on `validUntil` itself. */
export function issueOn<I extends IssueRow>(
  issues: readonly I[],
  revoked: boolean,
  today: CivilDate,
): { state: CertificateState; issue: I | null } {
  const inOrder = [...issues].sort(
    (a, b) => a.issuedAt.getTime() - b.issuedAt.getTime() || (a.validFrom < b.validFrom ? -1 : 1),
  )
  const standing = inOrder.filter((issue) => issue.withdrawnAt === null)
  const ended = (issue: I) => issue.validUntil !== null && issue.validUntil <= today
  const last = inOrder.at(-1) ?? null
  if (revoked) return { state: 'revoked', issue: last }
  const now = standing
    .filter((issue) => issue.validFrom <= today && !ended(issue))
    .sort((a, b) => ((a.validUntil ?? '9999') < (b.validUntil ?? '9999') ? 1 : -1))[0]
  if (now) return { state: 'valid', issue: now }
  const next = standing.find((issue) => issue.validFrom > today)
  if (next) return { state: 'notYetValid', issue: next }
  return { state: last?.withdrawnAt && !ended(last) ? 'revoked' : 'expired', issue: last }
}

/** Every certificate that a person has or had, for the person and for whoever may read people in the county; the
 *  valid ones first. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listCertificates(actor: Actor, workerId: string): Promise<CertificateCard[]> {
  if (!UUID.test(workerId)) throw notThere()
  const worker = await db().pollWorker.findUnique({ where: { id: workerId }, include: { county: true } })
  if (!worker) throw notThere()
  if (actor.pollWorkerId !== workerId) assertCan(actor, 'readPeople', worker.countyId)
  const { timeZone } = worker.county
  const today = civilDateAt(systemClock.now(), timeZone)
  const rows = await db().certificate.findMany({
    where: { pollWorkerId: workerId },
    include: { issues: true },
    orderBy: [{ certificateKey: 'asc' }, { number: 'desc' }],
  })
  const factIds = rows.map((row) => row.revokedFactId).filter((id) => id !== null)
  const taken = await db().fact.findMany({
    where: { revokesFactId: { in: factIds } },
    select: { revokesFactId: true },
  })
  const givenBack = new Set(taken.map((fact) => fact.revokesFactId))
  const order: CertificateState[] = ['valid', 'notYetValid', 'expired', 'revoked']
  const cards = await Promise.all(
    rows.map(async (row): Promise<CertificateCard> => {
      const { state, issue } = issueOn(row.issues, row.revokedAt !== null, today)
      return {
        certificateId: row.id,
        certificateKey: row.certificateKey,
        roleName: await roleNameOf(worker.countyId, row.certificateKey),
        serial: row.serial,
        state,
        issueId: issue && issue.withdrawnAt === null ? issue.id : null,
        validFrom: (issue?.validFrom ?? null) as CivilDate | null,
        validUntil: (issue?.validUntil ?? null) as CivilDate | null,
        revokedOn: row.revokedAt ? civilDateAt(row.revokedAt, timeZone) : null,
        revokedBecause: row.revokedBecause,
        canBeGivenBack: row.revokedFactId !== null && !givenBack.has(row.revokedFactId),
      }
    }),
  )
  return cards.sort((a, b) => order.indexOf(a.state) - order.indexOf(b.state))
}

export interface EarlierTraining {
  id: string
  /** The position that it was for, as the county names it. */
  name: string
  on: string
  saidBy: string
  takenBack: boolean
}

/** A person's training from before the county kept its records here, the newest first. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listEarlierTraining(
  actor: Actor,
  countyId: string,
  workerId: string,
): Promise<EarlierTraining[]> {
  assertCan(actor, 'readPeople', countyId)
  const facts = await db().fact.findMany({
    where: {
      countyId,
      kind: 'earlierTraining',
      pollWorker: { OR: [{ id: workerId }, { mergedIntoId: workerId }] },
    },
    orderBy: [{ happenedOn: 'desc' }, { id: 'asc' }],
  })
  const revoked = await db().fact.findMany({
    where: { revokesFactId: { in: facts.map((f) => f.id) } },
    select: { revokesFactId: true },
  })
  const positions = await db().position.findMany({ where: { countyId } })
  const gone = new Set(revoked.map((r) => r.revokesFactId))
  return facts.map((f) => ({
    id: f.id,
    name: positions.find((p) => p.certificateKey === f.topic)?.nameEn ?? f.topic,
    on: f.happenedOn,
    saidBy: f.witnessedBy ?? '',
    takenBack: gone.has(f.id),
  }))
}
