import { randomUUID } from 'node:crypto'
import { z } from 'zod'
import { appendAudit, appendAudits } from '@/lib/audit/append'
import type { AuditEvent } from '@/lib/audit/events'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { insertRows } from '@/lib/db/bulk'
import { db, type Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { syncCertificates } from './commands-issue'
import { spansOf } from './core/spans-of'
import { listElectionDates, listFacts, listMerged, listPolicies } from './queries'
import type { FactKind } from './schema'

export interface NewFact {
  countyId: string
  workerId: string
  kind: FactKind
  topic: string
  on: CivilDate
  scoreFraction?: number
  equipmentProfile?: string
  electionId?: string
  revokes?: string
  /** Who watched or administered it, as on paper. */
  witnessedBy?: string
  /** The same deed is recorded once: a second fact of this key is not written. */
  onceKey?: string
}

const spanRows = (
  countyId: string,
  workerId: string,
  certificateKey: string,
  spans: ReturnType<typeof spansOf>,
) =>
  spans.map((span) => ({
    countyId,
    pollWorkerId: workerId,
    certificateKey,
    validFrom: span.from,
    validUntil: span.until,
  }))

/** The derived table for some people (all of the county when left out), computed from facts and published rules. */
async function computeSpans(tx: Tx, countyId: string, workerIds?: string[]) {
  const [policies, elections, facts] = [
    await listPolicies(tx, countyId),
    await listElectionDates(tx, countyId),
    await listFacts(tx, countyId, workerIds),
  ]
  return [...facts].flatMap(([workerId, own]) =>
    [...policies].flatMap(([key, policy]) =>
      spanRows(countyId, workerId, key, spansOf(policy, own, elections)),
    ),
  )
}

/** Computes the spans of some people anew, in the caller's transaction. The certificates come after it
 *  (`syncCertificates`). */
export async function refreshSpans(tx: Tx, countyId: string, workerIds: string[]): Promise<void> {
  const spans = await computeSpans(tx, countyId, workerIds)
  await tx.certificateSpan.deleteMany({ where: { pollWorkerId: { in: workerIds } } })
  await insertRows(tx, 'CertificateSpan', spans)
}

/** Writes a fact, the person's spans, their certificates and the audit records, in the caller's transaction. Returns the
 *  fact's id, or null when its `onceKey` is already there. */
export async function recordFact(
  tx: Tx,
  by: { accountId: string | null; at: Date },
  fact: NewFact,
): Promise<string | null> {
  // Two facts of one person must not rebuild from half of each other.
  await tx.$executeRaw`SELECT 1 FROM "PollWorker" WHERE id = ${fact.workerId}::uuid FOR UPDATE`
  if (fact.onceKey && (await tx.fact.findUnique({ where: { onceKey: fact.onceKey } }))) return null
  const [id] = await recordFacts(tx, by, fact.countyId, [fact])
  return id!
}

/** Writes facts of many people of one county as `recordFact` does one, in their order, and returns their ids. None may
 *  have an `onceKey` that is already there. `onShare` is told how far it is (0 to 1); what it throws ends the
 *  transaction. */
export async function recordFacts(
  tx: Tx,
  by: { accountId: string | null; at: Date },
  countyId: string,
  facts: readonly Omit<NewFact, 'countyId'>[],
  onShare: (share: number) => void | Promise<void> = () => undefined,
): Promise<string[]> {
  if (facts.length === 0) return []
  const workerIds = [...new Set(facts.map((fact) => fact.workerId))]
  await tx.$executeRaw`SELECT 1 FROM "PollWorker" WHERE id = ANY(${workerIds}::uuid[]) ORDER BY id FOR UPDATE`
  const rows = facts.map((fact) => ({
    id: randomUUID(),
    countyId,
    pollWorkerId: fact.workerId,
    kind: fact.kind,
    topic: fact.topic,
    happenedOn: fact.on,
    scoreFraction: fact.scoreFraction ?? null,
    equipmentProfile: fact.equipmentProfile ?? null,
    electionId: fact.electionId ?? null,
    revokesFactId: fact.revokes ?? null,
    recordedBy: by.accountId,
    witnessedBy: fact.witnessedBy ?? null,
    recordedAt: by.at,
    onceKey: fact.onceKey ?? null,
  }))
  await insertRows(tx, 'Fact', rows)
  const merged = await listMerged(tx, countyId)
  const counting = [...new Set(workerIds.map((id) => merged.get(id) ?? id))]
  for (let i = 0; i < counting.length; i += REBUILD_PEOPLE) {
    await onShare(i / counting.length)
    await refreshSpans(tx, countyId, counting.slice(i, i + REBUILD_PEOPLE))
  }
  await syncCertificates(tx, by, countyId, counting)
  await appendAudits(
    tx,
    { chain: countyId, actorAccountId: by.accountId, at: by.at },
    rows.map((row): AuditEvent => {
      const subject = `worker:${row.pollWorkerId}` as const
      return row.revokesFactId
        ? {
            event: 'fact.revoked',
            subject,
            detail: { factId: row.id, revokesFactId: row.revokesFactId },
          }
        : {
            event: 'fact.recorded',
            subject,
            detail: { factId: row.id, kind: row.kind, topic: row.topic, happenedOn: row.happenedOn },
          }
    }),
  )
  return rows.map((row) => row.id)
}

export interface RebuildOutcome {
  countyId: string
  people: number
  /** Rows of the derived table that were not what the facts say. */
  changed: number
  /** Certificates brought in line with them; 0 when only compared. */
  issued: number
  withdrawn: number
}

/** People whose spans are rebuilt in one transaction: it stays short, and their facts wait for no other's. */
const REBUILD_PEOPLE = 500

const spanText = (row: {
  pollWorkerId: string
  certificateKey: string
  validFrom: string
  validUntil: string | null
}) => [row.pollWorkerId, row.certificateKey, row.validFrom, row.validUntil ?? ''].join(' ')

/** Rebuilds a county's derived spans from facts and rules, and the certificates that follow; with `compareOnly`, only
 *  counts what would change. Some hundred people at a time, each under the lock that a new fact takes too, so that no
 *  fact recorded meanwhile is lost; doing it twice or at once in two processes changes nothing more. */
export async function rebuildSpans(
  countyId: string,
  options: { compareOnly: boolean },
): Promise<RebuildOutcome> {
  const outcome: RebuildOutcome = { countyId, people: 0, changed: 0, issued: 0, withdrawn: 0 }
  let after: string | undefined
  for (;;) {
    const chunk = await db().pollWorker.findMany({
      where: { countyId, ...(after ? { id: { gt: after } } : {}) },
      orderBy: { id: 'asc' },
      take: REBUILD_PEOPLE,
      select: { id: true },
    })
    if (chunk.length === 0) return outcome
    after = chunk.at(-1)!.id
    const ids = chunk.map((worker) => worker.id)
    const part = await transaction((tx) => rebuildSome(tx, countyId, ids, options))
    outcome.people += part.people
    outcome.changed += part.changed
    outcome.issued += part.issued
    outcome.withdrawn += part.withdrawn
  }
}

async function rebuildSome(
  tx: Tx,
  countyId: string,
  ids: string[],
  { compareOnly }: { compareOnly: boolean },
): Promise<Omit<RebuildOutcome, 'countyId'>> {
  if (!compareOnly)
    await tx.$executeRaw`SELECT 1 FROM "PollWorker" WHERE id = ANY(${ids}::uuid[]) ORDER BY id FOR UPDATE`
  const wanted = await computeSpans(tx, countyId, ids)
  const stored = await tx.certificateSpan.findMany({ where: { pollWorkerId: { in: ids } } })
  const before = new Set(stored.map(spanText))
  const now = new Set(wanted.map(spanText))
  const different = [
    ...wanted.filter((r) => !before.has(spanText(r))),
    ...stored.filter((r) => !now.has(spanText(r))),
  ]
  const part = { people: new Set(wanted.map((r) => r.pollWorkerId)).size, changed: different.length }
  if (compareOnly) return { ...part, issued: 0, withdrawn: 0 }
  const by = { accountId: null, at: systemClock.now() }
  if (different.length > 0) {
    const people = new Set(different.map((row) => row.pollWorkerId))
    await tx.certificateSpan.deleteMany({ where: { pollWorkerId: { in: [...people] } } })
    await tx.certificateSpan.createMany({ data: wanted.filter((row) => people.has(row.pollWorkerId)) })
  }
  const certificates = await syncCertificates(tx, by, countyId, ids)
  if (different.length > 0)
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: null, at: by.at },
      { event: 'spans.rebuilt', subject: `county:${countyId}`, detail: part },
    )
  return { ...part, ...certificates }
}

export const CheckOffInput = z.object({
  workerId: z.uuid(),
  task: z.string().regex(/^[a-z0-9-]{1,60}$/),
  equipmentProfile: z.string().regex(/^[a-z0-9-]{1,60}$/),
  on: CivilDateInput,
  /** `repeat`: it was tried and has to be shown again; kept, but it counts for nothing. */
  result: z.enum(['done', 'repeat']).default('done'),
  /** Made by the page, so that a double tap records it once. */
  formKey: z.uuid(),
})

/** A trainer saw the person do the task by hand, on this equipment. Recorded once for each `formKey`. */
export async function recordCheckOff(
  actor: Actor,
  input: z.output<typeof CheckOffInput>,
): Promise<{ recorded: boolean }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const worker = await tx.pollWorker.findUnique({
      where: { id: input.workerId },
      include: { county: true },
    })
    if (!worker) throw new AppError('NOT_FOUND', { userMessage: 'There is no such person.' })
    assertCan(actor, 'recordCheckOff', worker.countyId)
    if (actor.pollWorkerId === worker.id)
      throw new AppError('FORBIDDEN', {
        userMessage: 'Nobody can check off their own work. Ask another trainer.',
      })
    if (input.on > civilDateAt(at, worker.county.timeZone))
      throw new AppError('INVALID_INPUT', {
        userMessage: 'A check-off can’t lie in the future.',
        fields: { on: 'Choose today or an earlier day.' },
      })
    const factId = await recordFact(
      tx,
      { accountId: actor.accountId, at },
      {
        countyId: worker.countyId,
        workerId: worker.id,
        kind: input.result === 'done' ? 'checkOff' : 'checkOffToRepeat',
        topic: input.task,
        on: input.on,
        equipmentProfile: input.equipmentProfile,
        witnessedBy: actor.name,
        onceKey: `check-off:${input.formKey}:${input.task}:${input.result}`,
      },
    )
    return { recorded: factId !== null }
  })
}

export const RevokeFactInput = z.object({
  factId: z.uuid(),
  reason: z.string().trim().min(3, 'Say in a few words why.').max(200),
})

/** A recorded check-off, oath or earlier training turns out to be wrong: from today it no longer counts. Nothing is deleted. */
export async function revokeFact(
  actor: Actor,
  input: z.output<typeof RevokeFactInput>,
): Promise<{ countyId: string; workerId: string }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const fact = await tx.fact.findUnique({
      where: { id: input.factId },
      include: { pollWorker: { include: { county: true } } },
    })
    if (!fact) throw new AppError('NOT_FOUND', { userMessage: 'There is no such record.' })
    const permission = { oathSworn: 'recordOath', earlierTraining: 'importData' } as const
    assertCan(actor, permission[fact.kind as keyof typeof permission] ?? 'recordCheckOff', fact.countyId)
    if (!['checkOff', 'checkOffToRepeat', 'oathSworn', 'earlierTraining'].includes(fact.kind))
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Only a check-off, an oath or earlier training can be taken back here.',
      })
    if (await tx.fact.findUnique({ where: { revokesFactId: fact.id } }))
      throw new AppError('CONFLICT', { userMessage: 'This was already taken back.' })
    await recordFact(
      tx,
      { accountId: actor.accountId, at },
      {
        countyId: fact.countyId,
        workerId: fact.pollWorkerId,
        kind: 'revocation',
        topic: input.reason,
        on: civilDateAt(at, fact.pollWorker.county.timeZone),
        revokes: fact.id,
      },
    )
    return { countyId: fact.countyId, workerId: fact.pollWorkerId }
  })
}
