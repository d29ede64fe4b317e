import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { countFilled } from '@/lib/elections/facts-filled'
import { systemClock } from '@/lib/kernel/clock'
import { atThatTime, halvesOf, partIn } from '@/lib/kernel/day-parts'
import { AppError } from '@/lib/kernel/errors'
import { assertSeen, type Draft, keep, lockElection, Mark, missing, openDraft } from './commands-draft'
import { latestRoster, listMisplaced, loadSmallGround } from './facts'
import { assertStudentsFit, listCrewFaults } from './facts-crews'
import { crewsOverParty, listMissedWishes } from './facts-wishes'
import type { HalfOrFull } from './schema'
import { partOf, readSpot, SpotId } from './spot'
import { refusalOf } from './words'

/** Every change of a roster by hand. Each locks the election's row first, so that changes of one election follow each
 *  other; each says which state the clerk has seen, so that nothing is overwritten unseen: a change is
 *  refused when what it is about was touched since. */

/** What one person takes, with all that a check needs. Out of the election is not found. */
async function spotIn(tx: Tx, electionId: string, id: string) {
  const { seatId, half } = readSpot(id)!
  const seat = await tx.seat.findUnique({ where: { id: seatId }, include: { position: true } })
  if (!seat || seat.electionId !== electionId) throw missing('seat')
  return { ...seat, part: partOf(seat, half) }
}
type Spot = Awaited<ReturnType<typeof spotIn>>

/** Rows of a roster that take some of a spot's time: one, or both halves of a shared seat. */
const sittingIn = (tx: Tx, rosterId: string, spot: Spot) =>
  tx.seating.findMany({
    where: { rosterId, seatId: spot.id, ...atThatTime(spot.part, spot.servesOn) },
    include: { pollWorker: true },
  })

const rowOf = (draft: { id: string; countyId: string }, spot: Spot, pollWorkerId: string) => ({
  countyId: draft.countyId,
  rosterId: draft.id,
  seatId: spot.id,
  pollWorkerId,
  ...halvesOf(spot.part, spot.servesOn),
})

/** A seat as a record names it: with the half where it isn't the whole of it. */
const named = (seat: { id: string; shift: string }, part: HalfOrFull) => ({
  seatId: seat.id,
  ...(part === seat.shift ? {} : { shift: part }),
})

const bare = (id: string): string => readSpot(id)!.seatId

async function workerIn(tx: Tx, countyId: string, workerId: string) {
  const worker = await tx.pollWorker.findUnique({ where: { id: workerId } })
  if (!worker || worker.countyId !== countyId) throw missing('person')
  return worker
}
type WorkerRow = Awaited<ReturnType<typeof workerIn>>

const nameOf = (worker: WorkerRow) => `${worker.givenName} ${worker.familyName}`

async function assertEligible(tx: Tx, seat: Spot, worker: WorkerRow): Promise<void> {
  const refusal = refusalOf(
    await loadSmallGround(tx, [seat.id], [worker.id]),
    { id: worker.id, name: nameOf(worker), addressProtected: worker.confidentialAddress },
    { id: seat.id, part: seat.part, positionName: seat.position.nameEn, servesOn: seat.servesOn },
  )
  if (refusal)
    throw new AppError('INVALID_INPUT', { userMessage: `${refusal.sentence} Nothing was changed.` })
}

const assertUnlocked = (seatings: readonly { locked: boolean }[]): void => {
  if (seatings.some((s) => s.locked))
    throw new AppError('CONFLICT', { userMessage: 'This seat is locked. Unlock it first, then change it.' })
}

export const SeatInput = z.object({ electionId: z.uuid(), seatId: SpotId, expected: Mark })

/** Keeps the person of a seat where they are in every later run, or lets go of them. */
export async function lockSeat(actor: Actor, input: z.output<typeof SeatInput> & { locked: boolean }) {
  return transaction(async (tx) => {
    const draft = await openDraft(tx, actor, input, { seatIds: [bare(input.seatId)], workerIds: [] })
    const seat = await spotIn(tx, input.electionId, input.seatId)
    const { count } = await tx.seating.updateMany({
      where: { rosterId: draft.id, seatId: seat.id, ...atThatTime(seat.part, seat.servesOn) },
      data: { locked: input.locked },
    })
    if (count === 0)
      throw new AppError('CONFLICT', { userMessage: 'Nobody sits here: put a person in first.' })
    await keep(tx, actor, draft, {
      event: 'roster.seat-locked',
      subject: `election:${input.electionId}`,
      detail: {
        rosterId: draft.id,
        revision: draft.revision + 1,
        ...named(seat, seat.part),
        locked: input.locked,
      },
    })
  })
}

export async function emptySeat(actor: Actor, input: z.output<typeof SeatInput>) {
  return transaction(async (tx) => {
    const draft = await openDraft(tx, actor, input, { seatIds: [bare(input.seatId)], workerIds: [] })
    const seat = await spotIn(tx, input.electionId, input.seatId)
    const sitting = await sittingIn(tx, draft.id, seat)
    if (sitting.length === 0) throw new AppError('CONFLICT', { userMessage: 'This seat is empty already.' })
    assertUnlocked(sitting)
    await tx.seating.deleteMany({ where: { id: { in: sitting.map((s) => s.id) } } })
    await keepLeavings(
      tx,
      actor,
      draft,
      sitting.map((s) => ({ ...s, seat })),
    )
  })
}

export const SeatPersonInput = SeatInput.extend({
  workerId: z.uuid(),
  /** Where the person already sits at that time: leave that seat empty. */
  move: z.enum(['yes', 'no']).default('no'),
})

/** Puts a person into a seat, checked at once. @throws AppError INVALID_INPUT with the reason when they may not sit
 *  there, CONFLICT when they or the seat are taken. */
export async function seatPerson(actor: Actor, input: z.output<typeof SeatPersonInput>) {
  return transaction(async (tx) => {
    const draft = await openDraft(tx, actor, input, {
      seatIds: [bare(input.seatId)],
      workerIds: [input.workerId],
    })
    const seat = await spotIn(tx, input.electionId, input.seatId)
    const worker = await workerIn(tx, draft.countyId, input.workerId)
    await assertEligible(tx, seat, worker)
    const sitting = await sittingIn(tx, draft.id, seat)
    assertUnlocked(sitting)
    const elsewhere = await tx.seating.findMany({
      where: {
        rosterId: draft.id,
        pollWorkerId: worker.id,
        id: { notIn: sitting.map((s) => s.id) },
        ...atThatTime(seat.part, seat.servesOn),
      },
      include: { seat: { include: { pollingPlace: true, position: true } } },
    })
    for (const other of elsewhere) {
      const where = `${other.seat.position.nameEn} at ${other.seat.pollingPlace.name}`
      if (other.locked)
        throw new AppError('CONFLICT', {
          userMessage: `${nameOf(worker)} is locked as ${where} at that time. Unlock that seat first.`,
        })
      if (input.move === 'no')
        throw new AppError('CONFLICT', {
          userMessage: `${nameOf(worker)} already sits as ${where} at that time. Moving them leaves that seat empty.`,
        })
    }
    const others = sitting.filter((s) => s.pollWorkerId !== worker.id).map((s) => ({ ...s, seat }))
    await tx.seating.deleteMany({ where: { id: { in: [...sitting, ...elsewhere].map((s) => s.id) } } })
    await tx.seating.create({ data: rowOf(draft, seat, worker.id) })
    await assertStudentsFit(tx, draft, [seat])
    for (const gone of [...elsewhere, ...others.slice(1)])
      await appendAudit(
        tx,
        { chain: draft.countyId, actorAccountId: actor.accountId, at: systemClock.now() },
        leaving(draft, gone),
      )
    await keep(tx, actor, draft, {
      event: 'roster.seat-changed',
      subject: `election:${input.electionId}`,
      detail: {
        rosterId: draft.id,
        revision: draft.revision + 1,
        ...named(seat, seat.part),
        fromWorkerId: others[0]?.pollWorkerId ?? null,
        toWorkerId: worker.id,
      },
    })
  })
}

interface Leaving {
  pollWorkerId: string
  morningOn: string | null
  afternoonOn: string | null
  seat: { id: string; shift: string }
}

/** The record that somebody leaves a seat. */
const leaving = (draft: Draft, row: Leaving) => ({
  event: 'roster.seat-changed' as const,
  subject: `election:${draft.electionId}` as const,
  detail: {
    rosterId: draft.id,
    revision: draft.revision + 1,
    ...named(row.seat, partIn(row)),
    fromWorkerId: row.pollWorkerId,
    toWorkerId: null,
  },
})

async function keepLeavings(tx: Tx, actor: Actor, draft: Draft, rows: readonly Leaving[]): Promise<void> {
  const by = { chain: draft.countyId, actorAccountId: actor.accountId, at: systemClock.now() }
  for (const row of rows.slice(1)) await appendAudit(tx, by, leaving(draft, row))
  await keep(tx, actor, draft, leaving(draft, rows[0]!))
}

export const SwapInput = SeatInput.extend({ otherSeatId: SpotId })

/** Two people change seats; each must be allowed where the other sat. */
export async function swapSeats(actor: Actor, input: z.output<typeof SwapInput>) {
  return transaction(async (tx) => {
    const draft = await openDraft(tx, actor, input, {
      seatIds: [bare(input.seatId), bare(input.otherSeatId)],
      workerIds: [],
    })
    if (input.seatId === input.otherSeatId)
      throw new AppError('INVALID_INPUT', { userMessage: 'Choose another seat to change with.' })
    const [one, other] = [
      await spotIn(tx, input.electionId, input.seatId),
      await spotIn(tx, input.electionId, input.otherSeatId),
    ]
    const [inOne, inOther] = [await soleIn(tx, draft.id, one), await soleIn(tx, draft.id, other)]
    if (!inOne || !inOther)
      throw new AppError('CONFLICT', { userMessage: 'Both seats must be filled to change them.' })
    assertUnlocked([inOne, inOther])
    await assertEligible(tx, other, inOne.pollWorker)
    await assertEligible(tx, one, inOther.pollWorker)
    await tx.seating.deleteMany({ where: { id: { in: [inOne.id, inOther.id] } } })
    await assertFree(tx, draft.id, inOne.pollWorker, other)
    await assertFree(tx, draft.id, inOther.pollWorker, one)
    await tx.seating.createMany({
      data: [rowOf(draft, one, inOther.pollWorkerId), rowOf(draft, other, inOne.pollWorkerId)],
    })
    await assertStudentsFit(tx, draft, [one, other])
    await keep(tx, actor, draft, {
      event: 'roster.swapped',
      subject: `election:${input.electionId}`,
      detail: { rosterId: draft.id, revision: draft.revision + 1, seatIds: [one.id, other.id] },
    })
  })
}

/** Who takes exactly this spot. @throws AppError CONFLICT where somebody takes more or less of the day there by now. */
async function soleIn(tx: Tx, rosterId: string, spot: Spot) {
  const rows = await sittingIn(tx, rosterId, spot)
  if (rows.some((row) => partIn(row) !== spot.part))
    throw new AppError('CONFLICT', {
      userMessage: 'That seat is shared in another way by now. Load the page again.',
    })
  return rows[0] ?? null
}

export const MoveInput = SeatInput.extend({ toSeatId: SpotId })

/** Takes the person of one seat into an empty one; the first is left empty. Two acts in one, so that nobody sees the
 *  half of it. @throws AppError INVALID_INPUT when they may not sit there, CONFLICT when a seat is locked or taken. */
export async function moveSeat(actor: Actor, input: z.output<typeof MoveInput>) {
  return transaction(async (tx) => {
    const draft = await openDraft(tx, actor, input, {
      seatIds: [bare(input.seatId), bare(input.toSeatId)],
      workerIds: [],
    })
    if (input.seatId === input.toSeatId)
      throw new AppError('INVALID_INPUT', { userMessage: 'Choose another seat to move to.' })
    const from = await spotIn(tx, input.electionId, input.seatId)
    const to = await spotIn(tx, input.electionId, input.toSeatId)
    const sitting = await soleIn(tx, draft.id, from)
    if (!sitting)
      throw new AppError('CONFLICT', { userMessage: 'Nobody sits in that seat any more: nothing to move.' })
    assertUnlocked([sitting])
    if ((await sittingIn(tx, draft.id, to)).some((row) => row.id !== sitting.id))
      throw new AppError('CONFLICT', {
        userMessage: 'Somebody sits there already. Change the two seats instead.',
      })
    await assertEligible(tx, to, sitting.pollWorker)
    await tx.seating.delete({ where: { id: sitting.id } })
    await assertFree(tx, draft.id, sitting.pollWorker, to)
    await tx.seating.create({ data: rowOf(draft, to, sitting.pollWorkerId) })
    await assertStudentsFit(tx, draft, [to])
    await appendAudit(
      tx,
      { chain: draft.countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      leaving(draft, { ...sitting, seat: from }),
    )
    await keep(tx, actor, draft, {
      event: 'roster.seat-changed',
      subject: `election:${input.electionId}`,
      detail: {
        rosterId: draft.id,
        revision: draft.revision + 1,
        ...named(to, to.part),
        fromWorkerId: null,
        toWorkerId: sitting.pollWorkerId,
      },
    })
  })
}

/** Where somebody has another seat at that time, in words. The database would refuse too, but couldn't say where. */
async function assertFree(tx: Tx, rosterId: string, worker: WorkerRow, seat: Spot): Promise<void> {
  const other = await tx.seating.findFirst({
    where: { rosterId, pollWorkerId: worker.id, ...atThatTime(seat.part, seat.servesOn) },
    include: { seat: { include: { pollingPlace: true, position: true } } },
  })
  if (other)
    throw new AppError('CONFLICT', {
      userMessage: `${nameOf(worker)} also sits as ${other.seat.position.nameEn} at ${other.seat.pollingPlace.name} at that time. Empty that seat first. Nothing was changed.`,
    })
}

export const PublishInput = z.object({
  electionId: z.uuid(),
  expected: Mark,
  /** Though crews have more of one party than the county's rules allow. */
  overParty: z.literal('yes').optional(),
})

/** The draft becomes a version that no longer changes (the database refuses). Refused while somebody sits where they
 *  may not: that is put right first; more of one party in a crew than the rules allow must be meant. Empty seats don't
 *  stand in the way. */
export async function publishRoster(actor: Actor, input: z.output<typeof PublishInput>) {
  return transaction(async (tx) => {
    const { countyId } = await lockElection(tx, actor, input.electionId)
    const roster = await assertSeen(tx, { countyId, electionId: input.electionId }, input.expected, null)
    if (!roster || roster.publishedAt)
      throw new AppError('CONFLICT', { userMessage: 'There is no draft to publish: nothing has changed.' })
    const wrong = await listMisplaced(tx, roster.id)
    if (wrong.length > 0)
      throw new AppError('CONFLICT', {
        userMessage: `In ${wrong.length} ${wrong.length === 1 ? 'seat' : 'seats'} somebody sits who may not any more (certificate, availability or your county’s rules). Change the seats marked “not allowed”, then publish.`,
      })
    const keys = { id: roster.id, countyId, electionId: input.electionId }
    const faults = await listCrewFaults(tx, keys)
    const crowded = faults.filter((fault) => fault.kind === 'students')
    if (crowded.length > 0)
      throw new AppError('CONFLICT', {
        userMessage: `${crowded.length} ${crowded.length === 1 ? 'crew has' : 'crews have'} more students than your county lets serve together (the board names them). Move some of them, then publish.`,
      })
    const overParty = crewsOverParty(faults, await listMissedWishes(tx, keys))
    if (overParty > 0 && !input.overParty)
      throw new AppError('INVALID_INPUT', {
        userMessage: `${overParty} ${overParty === 1 ? 'crew has' : 'crews have'} more of one party than your county allows (the board names them). Move some of them; or tick that you publish all the same. Nothing was published.`,
      })
    const [filled, seats] = [
      await countFilled(tx, roster.id),
      await tx.seat.count({ where: { electionId: input.electionId } }),
    ]
    if ((await tx.seating.count({ where: { rosterId: roster.id } })) === 0)
      throw new AppError('CONFLICT', { userMessage: 'Nobody sits anywhere yet: fill the seats first.' })
    const at = systemClock.now()
    await tx.roster.update({ where: { id: roster.id }, data: { publishedAt: at } })
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      {
        event: 'roster.published',
        subject: `election:${input.electionId}`,
        detail: { rosterId: roster.id, version: roster.version, filled, seats, overParty },
      },
    )
    return { version: roster.version, filled, seats }
  })
}

/** Says in the audit chain that a roster left the house as a file or on paper. */
export async function recordExport(actor: Actor, electionId: string, format: string): Promise<void> {
  await transaction(async (tx) => {
    const election = await tx.election.findUnique({ where: { id: electionId } })
    if (!election) throw missing('election')
    assertCan(actor, 'readRoster', election.countyId)
    const roster = await latestRoster(tx, electionId)
    if (!roster) return
    await appendAudit(
      tx,
      { chain: election.countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      {
        event: 'roster.exported',
        subject: `election:${electionId}`,
        detail: { rosterId: roster.id, format },
      },
    )
  })
}
