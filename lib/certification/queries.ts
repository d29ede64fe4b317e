import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db, type Tx } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { statusOn } from './core/status'
import { type TodoItem, todo } from './core/todo'
import { type ElectionDate, EquipmentChange, type Fact, Policy, RuleSet } from './schema'

/** Certificate key → its policy, as published in this county. */
export async function listPolicies(tx: Tx, countyId: string): Promise<Map<string, Policy>> {
  const [county, rows] = await Promise.all([
    tx.county.findUniqueOrThrow({ where: { id: countyId }, select: { settings: true } }),
    tx.ruleSet.findMany({ where: { countyId }, orderBy: [{ certificateKey: 'asc' }, { version: 'asc' }] }),
  ])
  const changes = (county.settings as { equipmentChanges?: unknown[] }).equipmentChanges ?? []
  const equipmentChanges = changes.map((change) => EquipmentChange.parse(change))
  const byKey = new Map<string, RuleSet[]>()
  for (const row of rows) {
    const ruleSet = RuleSet.parse({
      certificateKey: row.certificateKey,
      version: row.version,
      effectiveFrom: row.effectiveFrom,
      requirement: row.requirement,
      citation: row.citation,
    })
    byKey.set(row.certificateKey, [...(byKey.get(row.certificateKey) ?? []), ruleSet])
  }
  return new Map(
    [...byKey].map(([certificateKey, ruleSets]) => [
      certificateKey,
      Policy.parse({ certificateKey, ruleSets, equipmentChanges }),
    ]),
  )
}

export async function listElectionDates(tx: Tx, countyId: string): Promise<ElectionDate[]> {
  const rows = await tx.election.findMany({ where: { countyId }, select: { id: true, heldOn: true } })
  return rows.map((row) => ({ id: row.id, heldOn: row.heldOn as CivilDate }))
}

/** Record → the record of the same person that counts, for those that were merged; the others are absent. */
export async function listMerged(tx: Tx, countyId: string): Promise<Map<string, string>> {
  const rows = await tx.pollWorker.findMany({
    where: { countyId, mergedIntoId: { not: null } },
    select: { id: true, mergedIntoId: true },
  })
  const into = new Map(rows.map((row) => [row.id, row.mergedIntoId as string]))
  const last = (id: string): string => (into.has(id) ? last(into.get(id)!) : id)
  return new Map(rows.map((row) => [row.id, last(row.id)]))
}

/** The record itself and those of the same person that were merged into it: for reading what is on file of somebody. */
export async function recordIdsOf(tx: Tx, countyId: string, workerId: string): Promise<string[]> {
  const merged = await listMerged(tx, countyId)
  return [workerId, ...[...merged].flatMap(([id, kept]) => (kept === workerId ? [id] : []))]
}

/** Worker id → facts, oldest first. People without any are absent. The facts of a record that was merged count for the
 *  one it was merged into. */
export async function listFacts(
  tx: Tx,
  countyId: string,
  workerIds?: string[],
): Promise<Map<string, Fact[]>> {
  const merged = await listMerged(tx, countyId)
  const wanted = workerIds && new Set(workerIds)
  const ids = wanted && [...wanted, ...[...merged].flatMap(([id, kept]) => (wanted.has(kept) ? [id] : []))]
  const rows = await tx.fact.findMany({
    where: { countyId, ...(ids ? { pollWorkerId: { in: ids } } : {}) },
    orderBy: [{ happenedOn: 'asc' }, { recordedAt: 'asc' }, { id: 'asc' }],
  })
  const byWorker = new Map<string, Fact[]>()
  for (const row of rows) {
    const fact: Fact = {
      id: row.id,
      kind: row.kind as Fact['kind'],
      topic: row.topic,
      on: row.happenedOn as CivilDate,
      scoreFraction: row.scoreFraction,
      equipmentProfile: row.equipmentProfile,
      electionId: row.electionId,
      revokes: row.revokesFactId,
    }
    const workerId = merged.get(row.pollWorkerId) ?? row.pollWorkerId
    if (wanted && !wanted.has(workerId)) continue
    const own = byWorker.get(workerId)
    if (own) own.push(fact)
    else byWorker.set(workerId, [fact])
  }
  return byWorker
}

type FactRow = [
  id: string,
  kind: string,
  topic: string,
  on: string,
  scoreFraction: number | null,
  equipmentProfile: string | null,
  electionId: string | null,
  revokes: string | null,
]

/** Worker id → only the facts of some kinds and topics, with what revokes them: a few per cent of the work of
 *  `listFacts` where a whole county is asked about one certificate. In no order that means anything. */
export async function listFactsOf(
  tx: Tx,
  countyId: string,
  topics: readonly Pick<Fact, 'kind' | 'topic'>[],
): Promise<Map<string, Fact[]>> {
  const merged = await listMerged(tx, countyId)
  // One row a person: rows cost more than what is in them.
  const rows = await tx.$queryRaw<{ id: string; facts: string }[]>`
    SELECT "pollWorkerId" AS id, json_agg(json_build_array(id, kind, topic, "happenedOn", "scoreFraction",
      "equipmentProfile", "electionId", "revokesFactId"))::text AS facts
    FROM "Fact"
    WHERE "countyId" = ${countyId} AND ("revokesFactId" IS NOT NULL OR (kind, topic) IN
      (SELECT * FROM unnest(${topics.map((t) => t.kind)}::text[], ${topics.map((t) => t.topic)}::text[])))
    GROUP BY "pollWorkerId"`
  const wanted = new Set(topics.map((t) => `${t.kind} ${t.topic}`))
  const byWorker = new Map<string, Fact[]>()
  for (const row of rows) {
    const facts = (JSON.parse(row.facts) as FactRow[]).map(
      ([id, kind, topic, on, scoreFraction, equipmentProfile, electionId, revokes]): Fact => ({
        id,
        kind: kind as Fact['kind'],
        topic,
        on: on as CivilDate,
        scoreFraction,
        equipmentProfile,
        electionId,
        revokes,
      }),
    )
    const workerId = merged.get(row.id) ?? row.id
    byWorker.set(workerId, [...(byWorker.get(workerId) ?? []), ...facts])
  }
  for (const [workerId, all] of byWorker) {
    const facts = all.filter((fact) => fact.revokes == null && wanted.has(`${fact.kind} ${fact.topic}`))
    // A revocation belongs to what it revokes, and one of a revocation to that.
    for (let from = 0; from < facts.length && facts.length < all.length; ) {
      const ids = new Set(facts.slice(from).map((fact) => fact.id))
      from = facts.length
      facts.push(...all.filter((fact) => fact.revokes != null && ids.has(fact.revokes)))
    }
    byWorker.set(workerId, facts)
  }
  return byWorker
}

export interface CertificateSummary {
  certificateKey: string
  valid: boolean
  /** First day without it; null: no end. Only when valid. */
  until: CivilDate | null
  /** Still valid on the next election day. */
  validOnElectionDay: boolean
  todo: TodoItem[]
}

export interface WorkerStanding {
  workerId: string
  name: string
  countyId: string
  wantsPositionKey: string | null
  today: CivilDate
  nextElection: { id: string; name: string; heldOn: CivilDate } | null
  certificates: CertificateSummary[]
}

/** How one person stands: each certificate of the county today and on the next election day, and what is missing for
 *  it. Readable by the person and by whoever may read people in that county. @throws AppError NOT_FOUND */
export async function getStandingOrThrow(actor: Actor, workerId: string): Promise<WorkerStanding> {
  const worker = await db().pollWorker.findUnique({ where: { id: workerId }, include: { county: true } })
  if (!worker) throw new AppError('NOT_FOUND', { userMessage: 'There is no such person.' })
  if (actor.pollWorkerId !== workerId) assertCan(actor, 'readPeople', worker.countyId)
  const today = civilDateAt(systemClock.now(), worker.county.timeZone)
  const [policies, elections, facts, next] = await Promise.all([
    listPolicies(db(), worker.countyId),
    listElectionDates(db(), worker.countyId),
    listFacts(db(), worker.countyId, [workerId]),
    db().election.findFirst({
      where: { countyId: worker.countyId, heldOn: { gte: today } },
      orderBy: { heldOn: 'asc' },
    }),
  ])
  const own = facts.get(workerId) ?? []
  const heldOn = (next?.heldOn ?? null) as CivilDate | null
  const certificates = [...policies].map(([certificateKey, policy]): CertificateSummary => {
    const now = statusOn(policy, own, elections, today)
    return {
      certificateKey,
      valid: now.valid,
      until: now.valid ? now.until : null,
      validOnElectionDay: heldOn ? statusOn(policy, own, elections, heldOn).valid : now.valid,
      todo: todo(policy, own, elections, heldOn ?? today),
    }
  })
  return {
    workerId,
    name: `${worker.givenName} ${worker.familyName}`,
    countyId: worker.countyId,
    wantsPositionKey: worker.wantsPositionKey,
    today,
    nextElection: next && heldOn ? { id: next.id, name: next.name, heldOn } : null,
    certificates,
  }
}
