import { z } from 'zod'
import type { Actor } from '@/lib/auth/actor'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import type { PersonPair } from '@/prisma/client/client'
import { keep, personToChange, type TakeBack, Text, Who } from './commands-office'

export const PairInput = z.object({
  ...Who,
  /** The county's number of the other person. */
  otherRef: z.string().trim().min(1, 'Give the other person’s number.').max(60, 'No number is so long.'),
  kind: z.enum(['together', 'apart'], 'Choose one of the two.'),
  note: Text(500),
})

const PAIRED = { together: 'to serve together', apart: 'to be kept apart' }

/** Notes that two people are to serve in one crew, or not in one. No roster is touched; later runs keep to it where they
 *  can. @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT, CONFLICT where the two are a pair already */
export async function pairPeople(actor: Actor, input: z.output<typeof PairInput>): Promise<void> {
  const { countyId, kind, note } = input
  await transaction(async (tx) => {
    const found = await tx.pollWorker.findFirst({
      where: { countyId, countyRef: { equals: input.otherRef, mode: 'insensitive' } },
      select: { id: true },
    })
    // Both, in one order: two clerks who pair the same two wait for each other here.
    await lockPeople(tx, [input.workerId, ...(found ? [found.id] : [])])
    const worker = await personToChange(tx, actor, input)
    if (worker.mergedIntoId)
      throw new AppError('CONFLICT', {
        userMessage: 'This record was merged into another one. Note the pair on the page of that one.',
      })
    const other = await otherOrThrow(tx, worker.id, found?.id ?? null)
    const open = await findOpenPair(tx, worker.id, other.id)
    if (open)
      throw new AppError('CONFLICT', {
        userMessage: `${worker.givenName} ${worker.familyName} and ${other.givenName} ${other.familyName} are noted already: they are ${PAIRED[open.kind]}. ${open.kind === kind ? 'Nothing was changed.' : 'Take that back first, then note this.'}`,
      })
    const at = systemClock.now()
    const pair = await tx.personPair.create({
      data: {
        ...{ countyId, pollWorkerId: worker.id, otherId: other.id, kind, note },
        recordedBy: actor.accountId,
        recordedAt: at,
      },
    })
    await keepOfBoth(tx, actor, pair, at, 'worker.paired')
  })
}

/** @throws AppError INVALID_INPUT where the number is nobody's, the person's own, or that of a merged record. */
async function otherOrThrow(tx: Tx, workerId: string, otherId: string | null) {
  const wrong = (words: string) =>
    new AppError('INVALID_INPUT', {
      userMessage: 'Please check the marked fields. Nothing was saved yet.',
      fields: { otherRef: words },
    })
  if (otherId === null)
    throw wrong('Nobody in this county has this number. Look it up in the list of people.')
  if (otherId === workerId) throw wrong('This is the number of this person. Give the other person’s.')
  const { mergedInto, ...other } = await tx.pollWorker.findUniqueOrThrow({
    where: { id: otherId },
    include: { mergedInto: { select: { countyRef: true } } },
  })
  if (mergedInto) throw wrong(`This record was merged into number ${mergedInto.countyRef}. Give that number.`)
  return other
}

/** Takes back a pair, from the page of either; a second time changes nothing. @throws AppError NOT_FOUND, FORBIDDEN */
export async function takeBackPair(actor: Actor, input: TakeBack): Promise<void> {
  await transaction(async (tx) => {
    const { id: workerId } = await personToChange(tx, actor, input)
    const at = systemClock.now()
    const [pair] = await tx.personPair.updateManyAndReturn({
      where: { id: input.id, takenBackAt: null, OR: [{ pollWorkerId: workerId }, { otherId: workerId }] },
      data: { takenBackAt: at, takenBackBy: actor.accountId },
    })
    if (pair) await keepOfBoth(tx, actor, pair, at, 'worker.pair-taken-back')
  })
}

const lockPeople = (tx: Tx, ids: string[]) =>
  tx.$queryRaw`SELECT 1 FROM "PollWorker" WHERE id = ANY(${ids}::uuid[]) ORDER BY id FOR UPDATE`

const findOpenPair = (tx: Tx, one: string, other: string) =>
  tx.personPair.findFirst({
    where: {
      takenBackAt: null,
      OR: [
        { pollWorkerId: one, otherId: other },
        { pollWorkerId: other, otherId: one },
      ],
    },
  })

/** Each of the two has the record, and neither's names the other: a person may read their own. */
async function keepOfBoth(
  tx: Tx,
  actor: Actor,
  pair: PersonPair,
  at: Date,
  event: 'worker.paired' | 'worker.pair-taken-back',
): Promise<void> {
  for (const id of [pair.pollWorkerId, pair.otherId])
    await keep(tx, actor, pair.countyId, at, { event, subject: `worker:${id}`, detail: { pairId: pair.id } })
}

/** Two records become one person's: what they say of somebody else must agree, and they can't be a pair of their own.
 *  Where both say the same the merged record's is taken back; its ids, for undoing that.
 *  @throws AppError CONFLICT */
export async function settlePairs(
  tx: Tx,
  of: { keptId: string; mergedId: string },
  by: { accountId: string; at: Date },
): Promise<string[]> {
  const rows = await tx.personPair.findMany({
    where: {
      takenBackAt: null,
      OR: [{ pollWorkerId: { in: [of.keptId, of.mergedId] } }, { otherId: { in: [of.keptId, of.mergedId] } }],
    },
    include: {
      pollWorker: { select: { givenName: true, familyName: true } },
      other: { select: { givenName: true, familyName: true } },
    },
  })
  const third = (row: (typeof rows)[number], id: string) =>
    row.pollWorkerId === id
      ? { id: row.otherId, ...row.other }
      : row.otherId === id
        ? { id: row.pollWorkerId, ...row.pollWorker }
        : null
  const twice: string[] = []
  for (const row of rows) {
    const other = third(row, of.mergedId)
    if (!other) continue
    if (other.id === of.keptId)
      throw new AppError('CONFLICT', {
        userMessage: `These two are noted as two people ${PAIRED[row.kind]}. If they are one, take that back on the page of either, then merge.`,
      })
    const like = rows.find((own) => third(own, of.keptId)?.id === other.id)
    if (!like) continue
    if (like.kind !== row.kind)
      throw new AppError('CONFLICT', {
        userMessage: `With ${other.givenName} ${other.familyName}, one of the two records is ${PAIRED[like.kind]}, the other ${PAIRED[row.kind]}. Take one of them back, then merge.`,
      })
    twice.push(row.id)
  }
  await tx.personPair.updateMany({
    where: { id: { in: twice } },
    data: { takenBackAt: by.at, takenBackBy: by.accountId },
  })
  return twice
}

/** Opens again what a merge took back. */
export const reopenPairs = (tx: Tx, ids: readonly string[], mergedAt: Date) =>
  tx.personPair.updateMany({
    where: { id: { in: [...ids] }, takenBackAt: mergedAt },
    data: { takenBackAt: null, takenBackBy: null },
  })
