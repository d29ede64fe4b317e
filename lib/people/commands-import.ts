import { randomUUID } from 'node:crypto'
import { refreshSpans } from '@/lib/certification/commands'
import { earlierTrainingOnce } from '@/lib/certification/commands-earlier'
import { syncCertificates } from '@/lib/certification/commands-issue'
import { insertRows, updateRows } from '@/lib/db/bulk'
import type { Tx } from '@/lib/db/client'

/** Writes people and what lists say of them, all in the caller's transaction, who has authorised and appends the audit
 *  record. */

export interface PersonToWrite {
  /** Null: a new person. */
  id: string | null
  /** Only what the file says. */
  values: object
}

/** What a new person is of whom a file says nothing more. */
const UNSAID = {
  birthYear: null,
  email: null,
  phone: null,
  party: null,
  homeAddress: null,
  homeLat: null,
  homeLon: null,
  confidentialAddress: false,
  languages: [] as string[],
  accommodations: null,
  wantsPositionKey: null,
  electionsServed: 0,
  maxTravelKm: null,
  unavailableOn: [] as string[],
  offersShift: 'full',
  active: true,
  homePrecinct: null,
  student: false,
}

export async function writePeople(tx: Tx, countyId: string, people: readonly PersonToWrite[]): Promise<void> {
  const fresh = people.filter((p) => p.id === null)
  await insertRows(
    tx,
    'PollWorker',
    fresh.map(({ values }) => ({ id: randomUUID(), countyId, ...UNSAID, ...values })),
  )
  // Rows of one statement have the same columns: people are grouped by what is said of them.
  const groups = new Map<string, ({ id: string } & object)[]>()
  for (const { id, values } of people) {
    if (id === null) continue
    const key = Object.keys(values).sort().join()
    const group = groups.get(key)
    if (group) group.push({ id, ...values })
    else groups.set(key, [{ id, ...values }])
  }
  for (const group of groups.values()) await updateRows(tx, 'PollWorker', group)
}

export interface ServiceToWrite {
  personId: string
  servedOn: string
  positionKey: string
}

/** Service of the past as facts, with what it means for certificates. A deed is recorded once. */
export async function writeService(
  tx: Tx,
  by: { accountId: string; at: Date },
  countyId: string,
  service: readonly ServiceToWrite[],
): Promise<void> {
  const elections = await tx.election.findMany({ where: { countyId }, select: { id: true, heldOn: true } })
  const electionOf = new Map(elections.map((election) => [election.heldOn, election.id]))
  await insertRows(
    tx,
    'Fact',
    service.map((s) => ({
      id: randomUUID(),
      countyId,
      pollWorkerId: s.personId,
      kind: 'served',
      topic: s.positionKey,
      happenedOn: s.servedOn,
      electionId: electionOf.get(s.servedOn) ?? null,
      recordedBy: by.accountId,
      recordedAt: by.at,
      onceKey: `served:${s.personId}:${s.servedOn}:${s.positionKey}`,
    })),
  )
  const ids = [...new Set(service.map((s) => s.personId))]
  // The county's own count stays where it is higher: it reaches farther back.
  await tx.$executeRaw`
    UPDATE "PollWorker" w SET "electionsServed" = GREATEST(w."electionsServed", f.days)
    FROM (SELECT "pollWorkerId", count(DISTINCT "happenedOn")::int AS days FROM "Fact" x
          WHERE kind = 'served' AND "pollWorkerId" = ANY(${ids}::uuid[])
            AND NOT EXISTS (SELECT 1 FROM "Fact" r WHERE r."revokesFactId" = x.id)
          GROUP BY 1) f
    WHERE w.id = f."pollWorkerId"`
  await bringUpToDate(tx, by, countyId, ids)
}

export interface TrainingToWrite {
  personId: string
  trainedOn: string
  certificateKey: string
  saidBy: string
}

/** Training that the county recorded elsewhere, as facts, with what it means for certificates. */
export async function writeTraining(
  tx: Tx,
  by: { accountId: string; at: Date },
  countyId: string,
  training: readonly TrainingToWrite[],
): Promise<void> {
  await insertRows(
    tx,
    'Fact',
    training.map((t) => ({
      id: randomUUID(),
      countyId,
      pollWorkerId: t.personId,
      kind: 'earlierTraining',
      topic: t.certificateKey,
      happenedOn: t.trainedOn,
      witnessedBy: t.saidBy,
      recordedBy: by.accountId,
      recordedAt: by.at,
      onceKey: earlierTrainingOnce({
        workerId: t.personId,
        on: t.trainedOn,
        certificateKey: t.certificateKey,
      }),
    })),
  )
  await bringUpToDate(tx, by, countyId, [...new Set(training.map((t) => t.personId))])
}

async function bringUpToDate(
  tx: Tx,
  by: { accountId: string; at: Date },
  countyId: string,
  ids: readonly string[],
): Promise<void> {
  for (let i = 0; i < ids.length; i += 2000) await refreshSpans(tx, countyId, ids.slice(i, i + 2000))
  await syncCertificates(tx, by, countyId)
}

export interface NominationToWrite {
  personId: string
  positionKey: string
  party: string
  rank: number
  listedOn: string
}

/** A party's list; somebody who stands on it already gets the new rank. */
export async function writeNominations(
  tx: Tx,
  countyId: string,
  list: readonly NominationToWrite[],
): Promise<void> {
  const rows = list.map(({ personId, ...rest }) => ({
    id: randomUUID(),
    countyId,
    pollWorkerId: personId,
    ...rest,
  }))
  for (let i = 0; i < rows.length; i += 5000)
    await tx.$executeRaw`
      INSERT INTO "Nomination" (id, "countyId", "pollWorkerId", "positionKey", party, rank, "listedOn")
      SELECT id, "countyId", "pollWorkerId", "positionKey", party, rank, "listedOn"
      FROM jsonb_populate_recordset(NULL::"Nomination", ${JSON.stringify(rows.slice(i, i + 5000))}::jsonb)
      ON CONFLICT ("countyId", party, "listedOn", "positionKey", "pollWorkerId") DO UPDATE SET rank = EXCLUDED.rank`
}
