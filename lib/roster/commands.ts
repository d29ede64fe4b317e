import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { assertSeen, keep, lockElection, Mark, missing, openDraft } from './commands-draft'
import { latestRoster, listMisplaced, loadSmallGround } from './facts'
import { halvesOf } from './instance'
import { refusalOf } from './words'

/** Every change of a roster by hand. Each locks the election's row first, so that changes of one election follow each
 *  other; each says which state the clerk has seen, so that nothing is overwritten unseen: a change is
 *  refused when what it is about was touched since. */

/** A seat of this election with all that a check needs. Out of the election is not found. */
async function seatIn(tx: Tx, electionId: string, seatId: string) {
  const seat = await tx.seat.findUnique({ where: { id: seatId }, include: { position: true } })
  if (!seat || seat.electionId !== electionId) throw missing('seat')
  return seat
}
type SeatRow = Awaited<ReturnType<typeof seatIn>>

async function workerIn(tx: Tx, countyId: string, workerId: string) {
  const worker = await tx.pollWorker.findUnique({ where: { id: workerId } })
  if (!worker || worker.countyId !== countyId) throw missing('person')
  return worker
}
type WorkerRow = Awaited<ReturnType<typeof workerIn>>

const nameOf = (worker: WorkerRow) => `${worker.givenName} ${worker.familyName}`

async function assertEligible(tx: Tx, seat: SeatRow, worker: WorkerRow): Promise<void> {
  const refusal = refusalOf(
    await loadSmallGround(tx, [seat.id], [worker.id]),
    { id: worker.id, name: nameOf(worker), addressProtected: worker.confidentialAddress },
    { id: seat.id, positionName: seat.position.nameEn, onText: seat.servesOn },
  )
  if (refusal)
    throw new AppError('INVALID_INPUT', { userMessage: `${refusal.sentence} Nothing was changed.` })
}

const assertUnlocked = (seating: { locked: boolean } | null): void => {
  if (seating?.locked)
    throw new AppError('CONFLICT', { userMessage: 'This seat is locked. Unlock it first, then change it.' })
}

export const SeatInput = z.object({ electionId: z.uuid(), seatId: z.uuid(), expected: Mark })

/** Keeps the person of a seat where they are in every later run, or lets go of them. */
export async function lockSeat(actor: Actor, input: z.output<typeof SeatInput> & { locked: boolean }) {
  return transaction(async (tx) => {
    const draft = await openDraft(tx, actor, input, { seatIds: [input.seatId], workerIds: [] })
    const seat = await seatIn(tx, input.electionId, input.seatId)
    const { count } = await tx.seating.updateMany({
      where: { rosterId: draft.id, seatId: seat.id },
      data: { locked: input.locked },
    })
    if (count === 0)
      throw new AppError('CONFLICT', { userMessage: 'Nobody sits here: put a person in first.' })
    await keep(tx, actor, draft, {
      event: 'roster.seat-locked',
      subject: `election:${input.electionId}`,
      detail: { rosterId: draft.id, revision: draft.revision + 1, seatId: seat.id, locked: input.locked },
    })
  })
}

export async function emptySeat(actor: Actor, input: z.output<typeof SeatInput>) {
  return transaction(async (tx) => {
    const draft = await openDraft(tx, actor, input, { seatIds: [input.seatId], workerIds: [] })
    const seat = await seatIn(tx, input.electionId, input.seatId)
    const sitting = await tx.seating.findUnique({
      where: { rosterId_seatId: { rosterId: draft.id, seatId: seat.id } },
    })
    if (!sitting) throw new AppError('CONFLICT', { userMessage: 'This seat is empty already.' })
    assertUnlocked(sitting)
    await tx.seating.delete({ where: { id: sitting.id } })
    await keep(tx, actor, draft, {
      event: 'roster.seat-changed',
      subject: `election:${input.electionId}`,
      detail: {
        rosterId: draft.id,
        revision: draft.revision + 1,
        seatId: seat.id,
        fromWorkerId: sitting.pollWorkerId,
        toWorkerId: null,
      },
    })
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
      seatIds: [input.seatId],
      workerIds: [input.workerId],
    })
    const seat = await seatIn(tx, input.electionId, input.seatId)
    const worker = await workerIn(tx, draft.countyId, input.workerId)
    await assertEligible(tx, seat, worker)
    const sitting = await tx.seating.findUnique({
      where: { rosterId_seatId: { rosterId: draft.id, seatId: seat.id } },
    })
    assertUnlocked(sitting)
    const halves = halvesOf(seat.shift, seat.servesOn)
    const elsewhere = await tx.seating.findMany({
      where: {
        rosterId: draft.id,
        pollWorkerId: worker.id,
        seatId: { not: seat.id },
        OR: [
          ...(halves.morningOn ? [{ morningOn: halves.morningOn }] : []),
          ...(halves.afternoonOn ? [{ afternoonOn: halves.afternoonOn }] : []),
        ],
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
      await tx.seating.delete({ where: { id: other.id } })
    }
    if (sitting) await tx.seating.delete({ where: { id: sitting.id } })
    await tx.seating.create({
      data: {
        countyId: draft.countyId,
        rosterId: draft.id,
        seatId: seat.id,
        pollWorkerId: worker.id,
        ...halves,
      },
    })
    const subject = `election:${input.electionId}` as const
    const by = { chain: draft.countyId, actorAccountId: actor.accountId, at: systemClock.now() }
    for (const other of elsewhere)
      await appendAudit(tx, by, {
        event: 'roster.seat-changed',
        subject,
        detail: {
          rosterId: draft.id,
          revision: draft.revision + 1,
          seatId: other.seatId,
          fromWorkerId: worker.id,
          toWorkerId: null,
        },
      })
    await keep(tx, actor, draft, {
      event: 'roster.seat-changed',
      subject,
      detail: {
        rosterId: draft.id,
        revision: draft.revision + 1,
        seatId: seat.id,
        fromWorkerId: sitting?.pollWorkerId ?? null,
        toWorkerId: worker.id,
      },
    })
  })
}

export const SwapInput = SeatInput.extend({ otherSeatId: z.uuid() })

/** Two people change seats; each must be allowed where the other sat. */
export async function swapSeats(actor: Actor, input: z.output<typeof SwapInput>) {
  return transaction(async (tx) => {
    const draft = await openDraft(tx, actor, input, {
      seatIds: [input.seatId, input.otherSeatId],
      workerIds: [],
    })
    if (input.seatId === input.otherSeatId)
      throw new AppError('INVALID_INPUT', { userMessage: 'Choose another seat to change with.' })
    const [one, other] = [
      await seatIn(tx, input.electionId, input.seatId),
      await seatIn(tx, input.electionId, input.otherSeatId),
    ]
    const sitting = await tx.seating.findMany({
      where: { rosterId: draft.id, seatId: { in: [one.id, other.id] } },
      include: { pollWorker: true },
    })
    const inOne = sitting.find((s) => s.seatId === one.id)
    const inOther = sitting.find((s) => s.seatId === other.id)
    if (!inOne || !inOther)
      throw new AppError('CONFLICT', { userMessage: 'Both seats must be filled to change them.' })
    assertUnlocked(inOne)
    assertUnlocked(inOther)
    await assertEligible(tx, other, inOne.pollWorker)
    await assertEligible(tx, one, inOther.pollWorker)
    await tx.seating.deleteMany({ where: { id: { in: [inOne.id, inOther.id] } } })
    await assertFree(tx, draft.id, inOne.pollWorker, other)
    await assertFree(tx, draft.id, inOther.pollWorker, one)
    const base = { countyId: draft.countyId, rosterId: draft.id }
    await tx.seating.createMany({
      data: [
        { ...base, seatId: one.id, pollWorkerId: inOther.pollWorkerId, ...halvesOf(one.shift, one.servesOn) },
        {
          ...base,
          seatId: other.id,
          pollWorkerId: inOne.pollWorkerId,
          ...halvesOf(other.shift, other.servesOn),
        },
      ],
    })
    await keep(tx, actor, draft, {
      event: 'roster.swapped',
      subject: `election:${input.electionId}`,
      detail: { rosterId: draft.id, revision: draft.revision + 1, seatIds: [one.id, other.id] },
    })
  })
}

export const MoveInput = SeatInput.extend({ toSeatId: z.uuid() })

/** Takes the person of one seat into an empty one; the first is left empty. Two acts in one, so that nobody sees the
 *  half of it. @throws AppError INVALID_INPUT when they may not sit there, CONFLICT when a seat is locked or taken. */
export async function moveSeat(actor: Actor, input: z.output<typeof MoveInput>) {
  return transaction(async (tx) => {
    const draft = await openDraft(tx, actor, input, {
      seatIds: [input.seatId, input.toSeatId],
      workerIds: [],
    })
    if (input.seatId === input.toSeatId)
      throw new AppError('INVALID_INPUT', { userMessage: 'Choose another seat to move to.' })
    const from = await seatIn(tx, input.electionId, input.seatId)
    const to = await seatIn(tx, input.electionId, input.toSeatId)
    const sitting = await tx.seating.findUnique({
      where: { rosterId_seatId: { rosterId: draft.id, seatId: from.id } },
      include: { pollWorker: true },
    })
    if (!sitting)
      throw new AppError('CONFLICT', { userMessage: 'Nobody sits in that seat any more: nothing to move.' })
    assertUnlocked(sitting)
    if (await tx.seating.findUnique({ where: { rosterId_seatId: { rosterId: draft.id, seatId: to.id } } }))
      throw new AppError('CONFLICT', {
        userMessage: 'Somebody sits there already. Change the two seats instead.',
      })
    await assertEligible(tx, to, sitting.pollWorker)
    await tx.seating.delete({ where: { id: sitting.id } })
    await assertFree(tx, draft.id, sitting.pollWorker, to)
    await tx.seating.create({
      data: {
        countyId: draft.countyId,
        rosterId: draft.id,
        seatId: to.id,
        pollWorkerId: sitting.pollWorkerId,
        ...halvesOf(to.shift, to.servesOn),
      },
    })
    const base = { rosterId: draft.id, revision: draft.revision + 1 }
    const subject = `election:${input.electionId}` as const
    const workerId = sitting.pollWorkerId
    await appendAudit(
      tx,
      { chain: draft.countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      {
        event: 'roster.seat-changed',
        subject,
        detail: { ...base, seatId: from.id, fromWorkerId: workerId, toWorkerId: null },
      },
    )
    await keep(tx, actor, draft, {
      event: 'roster.seat-changed',
      subject,
      detail: { ...base, seatId: to.id, fromWorkerId: null, toWorkerId: workerId },
    })
  })
}

/** Where somebody has another seat at that time, in words. The database would refuse too, but couldn't say where. */
async function assertFree(tx: Tx, rosterId: string, worker: WorkerRow, seat: SeatRow): Promise<void> {
  const { morningOn, afternoonOn } = halvesOf(seat.shift, seat.servesOn)
  const other = await tx.seating.findFirst({
    where: {
      rosterId,
      pollWorkerId: worker.id,
      seatId: { not: seat.id },
      OR: [...(morningOn ? [{ morningOn }] : []), ...(afternoonOn ? [{ afternoonOn }] : [])],
    },
    include: { seat: { include: { pollingPlace: true, position: true } } },
  })
  if (other)
    throw new AppError('CONFLICT', {
      userMessage: `${nameOf(worker)} also sits as ${other.seat.position.nameEn} at ${other.seat.pollingPlace.name} at that time. Empty that seat first. Nothing was changed.`,
    })
}

export const PublishInput = z.object({ electionId: z.uuid(), expected: Mark })

/** The draft becomes a version that no longer changes (the database refuses). Refused while somebody sits where they
 *  may not: that is put right first. Empty seats don't stand in the way. */
export async function publishRoster(actor: Actor, input: z.output<typeof PublishInput>) {
  return transaction(async (tx) => {
    const { countyId } = await lockElection(tx, actor, input.electionId)
    const roster = await assertSeen(tx, { countyId, electionId: input.electionId }, input.expected, null)
    if (!roster || roster.publishedAt)
      throw new AppError('CONFLICT', { userMessage: 'There is no draft to publish: nothing has changed.' })
    const wrong = await listMisplaced(tx, roster.id)
    if (wrong.length > 0)
      throw new AppError('CONFLICT', {
        userMessage: `${wrong.length} ${wrong.length === 1 ? 'person sits' : 'people sit'} where they may not any more (certificate or availability). Change the seats marked “not allowed”, then publish.`,
      })
    const [filled, seats] = [
      await tx.seating.count({ where: { rosterId: roster.id } }),
      await tx.seat.count({ where: { electionId: input.electionId } }),
    ]
    if (filled === 0)
      throw new AppError('CONFLICT', { userMessage: 'Nobody sits anywhere yet: fill the seats first.' })
    const at = systemClock.now()
    await tx.roster.update({ where: { id: roster.id }, data: { publishedAt: at } })
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      {
        event: 'roster.published',
        subject: `election:${input.electionId}`,
        detail: { rosterId: roster.id, version: roster.version, filled, seats },
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
