import { randomUUID } from 'node:crypto'
import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { refreshSpans } from '@/lib/certification/commands'
import { syncCertificates } from '@/lib/certification/commands-issue'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { enqueue } from '@/lib/queue/enqueue'
import type { PollWorker, Prisma } from '@/prisma/client/client'
import { reopenPairs, settlePairs } from './commands-pairs'
import { heldByEither, MERGE_FIELDS, type MergeField } from './core/merge-fields'

/** Two records of one person made one. Facts only grow, so none moves: they count for the kept record by
 *  `mergedIntoId` (lib/certification/queries.ts). What is no fact moves: attempts, bookings, seats of drafts, notes, exclusions, pairs, pay. The
 *  other record is marked, never deleted, and all of it can be undone. */

const PairInput = z.object({ countyId: z.string().min(1).max(100), keptId: z.uuid(), mergedId: z.uuid() })
/** Fields of the form named `take.FIELD` say `merged` where the kept record takes the other's value. */
export const MergeInput = PairInput.loose()
export const UndoMergeInput = z.object({ countyId: z.string().min(1).max(100), mergeId: z.uuid() })
export const NotTheSameInput = PairInput
export const SearchInput = z.object({ countyId: z.string().min(1).max(100) })

const missing = () =>
  new AppError('NOT_FOUND', { userMessage: 'There is no such person, or they belong to another county.' })

/** What stays with the other record: facts (they count through the mark), what is computed from them, and the account,
 *  which is settled on its own. Seats of published rosters stay, too: the database keeps those as they are. */
export const STAYS = ['Fact', 'CertificateSpan', 'Certificate', 'Account', 'PollWorker']

interface Moved {
  /** Table (with the column, where it isn't `pollWorkerId`) → ids of rows that now name the kept person. */
  rows: Record<string, string[]>
  /** The merged record's pairs that the kept one has, too: taken back. */
  pairs?: string[]
  account: { id: string; how: 'moved' | 'disabled' } | null
}
interface Before {
  fields: Partial<Record<MergeField, { was: unknown; became: unknown }>>
  mergedActive: boolean
}

async function lockPair(tx: Tx, countyId: string, ids: string[]): Promise<Map<string, PollWorker>> {
  await tx.$executeRaw`SELECT 1 FROM "PollWorker" WHERE id = ANY(${ids}::uuid[]) ORDER BY id FOR UPDATE`
  const rows = await tx.pollWorker.findMany({ where: { id: { in: ids }, countyId } })
  if (rows.length !== new Set(ids).size) throw missing()
  return new Map(rows.map((row) => [row.id, row]))
}

/** Merges `mergedId` into `keptId`. @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT, CONFLICT */
export async function mergePeople(
  actor: Actor,
  input: z.output<typeof MergeInput>,
): Promise<{ mergeId: string }> {
  const { countyId, keptId, mergedId } = input
  const at = systemClock.now()
  return transaction(async (tx) => {
    assertCan(actor, 'importData', countyId)
    if (keptId === mergedId)
      throw new AppError('INVALID_INPUT', { userMessage: 'These are one record already.' })
    const pair = await lockPair(tx, countyId, [keptId, mergedId])
    const kept = pair.get(keptId)!
    const merged = pair.get(mergedId)!
    if (kept.mergedIntoId || merged.mergedIntoId)
      throw new AppError('CONFLICT', {
        userMessage: 'One of the two was merged already. Load the list again.',
      })
    await refuseWhereSeated(tx, countyId, keptId, mergedId, at)
    const fields = chosenFields(actor, input, kept, merged)
    const moved: Moved = {
      pairs: await settlePairs(tx, { keptId, mergedId }, { accountId: actor.accountId, at }),
      rows: await moveRows(tx, mergedId, keptId),
      account: await settleAccount(tx, keptId, mergedId, at),
    }
    const changed = Object.keys(fields) as MergeField[]
    await tx.pollWorker.update({
      where: { id: keptId },
      data: Object.fromEntries(
        changed.map((key) => [key, fields[key]!.became]),
      ) as Prisma.PollWorkerUpdateInput,
    })
    await tx.pollWorker.update({ where: { id: mergedId }, data: { mergedIntoId: keptId, active: false } })
    const mergeId = randomUUID()
    const before: Before = { fields, mergedActive: merged.active }
    await tx.peopleMerge.create({
      data: {
        id: mergeId,
        countyId,
        keptId,
        mergedId,
        before: before as unknown as Prisma.InputJsonValue,
        moved: moved as unknown as Prisma.InputJsonValue,
        mergedBy: actor.accountId,
        mergedAt: at,
      },
    })
    await settle(tx, actor, countyId, keptId, mergedId, at)
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      {
        event: 'people.merged',
        subject: `worker:${keptId}`,
        detail: { mergeId, mergedId, fields: changed },
      },
    )
    return { mergeId }
  })
}

/** Spans and certificates of both records, as their facts now count. */
async function settle(tx: Tx, actor: Actor, countyId: string, keptId: string, mergedId: string, at: Date) {
  await refreshSpans(tx, countyId, [keptId, mergedId])
  await syncCertificates(tx, { accountId: actor.accountId, at }, countyId, [keptId, mergedId])
}

/** Two seats at one time can't become one person's, and a published roster that is still to come can't change. */
async function refuseWhereSeated(tx: Tx, countyId: string, keptId: string, mergedId: string, at: Date) {
  const county = await tx.county.findUniqueOrThrow({ where: { id: countyId }, select: { timeZone: true } })
  const today = civilDateAt(at, county.timeZone)
  const published = await tx.seating.findFirst({
    where: {
      pollWorkerId: mergedId,
      roster: { publishedAt: { not: null } },
      seat: { servesOn: { gte: today } },
    },
    select: { seat: { select: { servesOn: true } } },
  })
  if (published)
    throw new AppError('CONFLICT', {
      userMessage: `The record that would go sits in a published roster for ${published.seat.servesOn}. Keep that record instead, or merge after that day.`,
    })
  const [both] = await tx.$queryRaw<{ servesOn: string }[]>`
    SELECT COALESCE(a."morningOn", a."afternoonOn") AS "servesOn" FROM "Seating" a JOIN "Seating" b
      ON a."rosterId" = b."rosterId" AND (a."morningOn" = b."morningOn" OR a."afternoonOn" = b."afternoonOn")
    JOIN "Roster" r ON r.id = a."rosterId" AND r."publishedAt" IS NULL
    WHERE a."pollWorkerId" = ${keptId}::uuid AND b."pollWorkerId" = ${mergedId}::uuid LIMIT 1`
  if (both)
    throw new AppError('CONFLICT', {
      userMessage: `Both records have a seat in the draft for ${both.servesOn}. Empty one of the seats on the roster first.`,
    })
}

/** What the kept record takes from the other, of the fields that the actor may read. */
function chosenFields(actor: Actor, input: object, kept: PollWorker, merged: PollWorker): Before['fields'] {
  const fields: Before['fields'] = {}
  for (const { key, permission } of MERGE_FIELDS) {
    if ((input as Record<string, unknown>)[`take.${key}`] !== 'merged') continue
    if (permission && !can(actor, permission, kept.countyId)) continue
    for (const column of columnsOf(key))
      if (JSON.stringify(kept[column]) !== JSON.stringify(merged[column]))
        fields[column] = { was: kept[column], became: merged[column] }
  }
  const held = heldByEither(kept, merged)
  for (const key of Object.keys(held) as (keyof typeof held)[])
    if (JSON.stringify(held[key]) !== JSON.stringify(kept[key]))
      fields[key] = { was: kept[key], became: held[key] }
  return fields
}

/** An address goes with its point on the map. */
const columnsOf = (key: MergeField): MergeField[] =>
  key === 'homeAddress' ? ['homeAddress', 'homeLat', 'homeLon'] : [key]

/** Every table that names a person, by the database's own foreign keys, but for those that stay. */
export async function tablesNamingPeople(tx: Tx): Promise<{ table: string; column: string }[]> {
  return tx.$queryRaw<{ table: string; column: string }[]>`
    SELECT t.relname AS table, a.attname AS column FROM pg_constraint c
    JOIN pg_class t ON t.oid = c.conrelid
    JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = c.conkey[1]
    WHERE c.contype = 'f' AND c.confrelid = '"PollWorker"'::regclass ORDER BY 1, 2`
}

const keyOf = ({ table, column }: { table: string; column: string }) =>
  column === 'pollWorkerId' ? table : `${table}.${column}`

/** Rows of one person become another's. A row that the database refuses (the other has its like, or it is of a
 *  published roster) stays where it is. */
async function moveRows(tx: Tx, from: string, to: string): Promise<Record<string, string[]>> {
  const moved: Record<string, string[]> = {}
  for (const { table, column } of await tablesNamingPeople(tx)) {
    if (STAYS.includes(table)) continue
    const rows = await tx.$queryRawUnsafe<{ id: string }[]>(
      `SELECT id FROM "${table}" WHERE "${column}" = $1::uuid ORDER BY id`,
      from,
    )
    const gone: string[] = []
    for (const { id } of rows) if (await moveRow(tx, table, column, id, to)) gone.push(id)
    if (gone.length > 0) moved[keyOf({ table, column })] = gone
  }
  return moved
}

async function moveRow(tx: Tx, table: string, column: string, id: string, to: string): Promise<boolean> {
  await tx.$executeRaw`SAVEPOINT before_move`
  try {
    await tx.$executeRawUnsafe(`UPDATE "${table}" SET "${column}" = $1::uuid WHERE id = $2::uuid`, to, id)
    await tx.$executeRaw`RELEASE SAVEPOINT before_move`
    return true
  } catch {
    await tx.$executeRaw`ROLLBACK TO SAVEPOINT before_move`
    return false
  }
}

/** The account goes over; where both have one, the other's is closed and its sign-ins end. */
async function settleAccount(tx: Tx, keptId: string, mergedId: string, at: Date): Promise<Moved['account']> {
  const [own, other] = await Promise.all(
    [keptId, mergedId].map((pollWorkerId) => tx.account.findUnique({ where: { pollWorkerId } })),
  )
  if (!other) return null
  if (!own) {
    await tx.account.update({ where: { id: other.id }, data: { pollWorkerId: keptId } })
    return { id: other.id, how: 'moved' }
  }
  if (other.disabledAt) return null
  await tx.account.update({ where: { id: other.id }, data: { disabledAt: at } })
  await tx.signIn.updateMany({
    where: { accountId: other.id, endedAt: null },
    data: { endedAt: at, endReason: 'merged' },
  })
  return { id: other.id, how: 'disabled' }
}

/** Takes a merge back: both records are as they were, but for what was changed since. @throws AppError */
export async function undoMerge(actor: Actor, input: z.output<typeof UndoMergeInput>): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    assertCan(actor, 'importData', input.countyId)
    const merge = await tx.peopleMerge.findUnique({ where: { id: input.mergeId } })
    if (!merge || merge.countyId !== input.countyId)
      throw new AppError('NOT_FOUND', { userMessage: 'There is no such merge.' })
    const { countyId, keptId, mergedId } = merge
    const pair = await lockPair(tx, countyId, [keptId, mergedId])
    const kept = pair.get(keptId)!
    if (merge.undoneAt || pair.get(mergedId)!.mergedIntoId !== keptId)
      throw new AppError('CONFLICT', { userMessage: 'This merge was undone already.' })
    if (kept.mergedIntoId)
      throw new AppError('CONFLICT', {
        userMessage: 'The kept record was merged into another one since. Undo that merge first.',
      })
    const before = merge.before as unknown as Before
    const moved = merge.moved as unknown as Moved
    const naming = new Map((await tablesNamingPeople(tx)).map((t) => [keyOf(t), t]))
    for (const [key, ids] of Object.entries(moved.rows)) {
      const at = naming.get(key)
      if (at) for (const id of ids) await moveRow(tx, at.table, at.column, id, mergedId)
    }
    await reopenPairs(tx, moved.pairs ?? [], merge.mergedAt)
    if (moved.account?.how === 'moved')
      await tx.account.updateMany({
        where: { id: moved.account.id, pollWorkerId: keptId },
        data: { pollWorkerId: mergedId },
      })
    else if (moved.account)
      await tx.account.update({ where: { id: moved.account.id }, data: { disabledAt: null } })
    // What somebody has typed since the merge stays.
    const back = Object.entries(before.fields).filter(
      ([key, change]) => JSON.stringify(kept[key as MergeField]) === JSON.stringify(change?.became),
    )
    await tx.pollWorker.update({
      where: { id: keptId },
      data: Object.fromEntries(
        back.map(([key, change]) => [key, change?.was]),
      ) as Prisma.PollWorkerUpdateInput,
    })
    await tx.pollWorker.update({
      where: { id: mergedId },
      data: { mergedIntoId: null, active: before.mergedActive },
    })
    await tx.peopleMerge.update({ where: { id: merge.id }, data: { undoneAt: at } })
    await settle(tx, actor, countyId, keptId, mergedId, at)
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      {
        event: 'people.merge-undone',
        subject: `worker:${keptId}`,
        detail: { mergeId: merge.id, mergedId, fields: back.map(([key]) => key) },
      },
    )
  })
}

/** Two who look alike are two: the pair is not shown again. Said twice it is said once. */
export async function sayNotTheSame(actor: Actor, input: z.output<typeof NotTheSameInput>): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    assertCan(actor, 'importData', input.countyId)
    const ids = [input.keptId, input.mergedId].sort() as [string, string]
    await lockPair(tx, input.countyId, ids)
    const key = { firstId: ids[0], secondId: ids[1] }
    if (await tx.notTheSame.findUnique({ where: { firstId_secondId: key } })) return
    await tx.notTheSame.create({
      data: { ...key, countyId: input.countyId, saidBy: actor.accountId, saidAt: at },
    })
    await appendAudit(
      tx,
      { chain: input.countyId, actorAccountId: actor.accountId, at },
      { event: 'people.not-the-same', subject: `worker:${ids[0]}`, detail: { otherId: ids[1] } },
    )
  })
}

/** Asks the job to look for likely pairs. */
export async function askForPairs(actor: Actor, input: z.output<typeof SearchInput>): Promise<void> {
  await transaction(async (tx) => {
    assertCan(actor, 'importData', input.countyId)
    await enqueuePairs(tx, input.countyId)
  })
}

/** The same inside a caller's transaction. */
export async function enqueuePairs(tx: Tx, countyId: string): Promise<void> {
  const askedAt = systemClock.now()
  await tx.duplicateSearch.upsert({
    where: { countyId },
    create: { countyId, askedAt },
    update: { askedAt, finishedAt: null },
  })
  await enqueue(tx, 'likely-pairs', { countyId }, { jobKey: `likely-pairs:${countyId}`, countyId })
}

/** What the job found, by ids. */
export async function keepPairs(countyId: string, people: number, pairs: object[]): Promise<void> {
  await transaction(async (tx) => {
    await tx.duplicateSearch.updateMany({
      where: { countyId },
      data: { people, pairs: pairs as Prisma.InputJsonValue, finishedAt: systemClock.now() },
    })
  })
}
