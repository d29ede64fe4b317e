import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { traineeOrThrow } from '@/lib/scenarios/queries'
import { assertOpen, tellMovedUp } from './commands'
import { type BookingState, seatingOf } from './core/seating'
import { type LockedClass, lockClass, noClass, tellAboutClass } from './facts'

const BEGUN = () =>
  new AppError('CONFLICT', {
    userMessage: 'This class has begun or is over. Please ask the trainer.',
    userMessageEs: 'Esta clase ya empezó o terminó. Pregunte al instructor.',
  })

/** Takes a seat, or a place on the waiting list, for somebody who has none in this class. */
async function book(
  tx: Tx,
  actor: Actor,
  held: LockedClass,
  workerId: string,
  at: Date,
): Promise<BookingState> {
  const known = held.bookings.find((b) => b.pollWorkerId === workerId)
  const seating = (bookings: LockedClass['bookings']) =>
    seatingOf(bookings, { seats: held.seats, closed: held.closedAt !== null })
  if (known && known.cancelledAt === null) return seating(held.bookings).get(known.id)!
  // Never the same instant as an earlier booking: the order of booking decides.
  const last = Math.max(0, ...held.bookings.map((b) => b.bookedAt.getTime()))
  const bookedAt = new Date(Math.max(at.getTime(), last + 1))
  const booking = await tx.classBooking.upsert({
    where: { classId_pollWorkerId: { classId: held.id, pollWorkerId: workerId } },
    create: { countyId: held.countyId, classId: held.id, pollWorkerId: workerId, bookedAt },
    update: { bookedAt, cancelledAt: null, signedInAt: null },
  })
  const state = seating([...held.bookings.filter((b) => b.id !== booking.id), booking]).get(booking.id)!
  const to = { workerId, mark: bookedAt.toISOString() }
  if (held.startsAt > at) {
    if (state.state === 'waiting')
      await tellAboutClass(
        tx,
        'class-waiting',
        held,
        held.county,
        [{ ...to, more: { place: state.place } }],
        at,
      )
    else await tellAboutClass(tx, 'class-booked', held, held.county, [to], at)
  }
  await appendAudit(
    tx,
    { chain: held.countyId, actorAccountId: actor.accountId, at },
    { event: 'class.booked', subject: `class:${held.id}`, detail: { workerId } },
  )
  return state
}

async function giveUp(tx: Tx, actor: Actor, held: LockedClass, workerId: string, at: Date): Promise<boolean> {
  const booking = held.bookings.find((b) => b.pollWorkerId === workerId && b.cancelledAt === null)
  if (!booking) return false
  if (booking.signedInAt)
    throw new AppError('CONFLICT', { userMessage: 'This person has signed in. Take the sign-in back first.' })
  const before = seatingOf(held.bookings, { seats: held.seats, closed: false })
  await tx.classBooking.update({ where: { id: booking.id }, data: { cancelledAt: at } })
  await tellMovedUp(
    tx,
    held,
    before,
    held.bookings.map((b) => (b.id === booking.id ? { ...b, cancelledAt: at } : b)),
    at,
  )
  await appendAudit(
    tx,
    { chain: held.countyId, actorAccountId: actor.accountId, at },
    { event: 'class.booking-cancelled', subject: `class:${held.id}`, detail: { workerId } },
  )
  return true
}

/** A poll worker books for themselves. Twice is once. @throws AppError NOT_FOUND, CONFLICT */
export async function bookClass(actor: Actor, classId: string): Promise<BookingState> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const worker = await traineeOrThrow(tx, actor)
    const held = await lockClass(tx, classId)
    if (held.countyId !== worker.countyId) throw noClass()
    assertOpen(held)
    if (held.startsAt <= at) throw BEGUN()
    return book(tx, actor, held, worker.id, at)
  })
}

/** A poll worker gives their seat up; the first who waits gets it and is told. Twice is once.
 *  @throws AppError NOT_FOUND, CONFLICT */
export async function cancelBooking(actor: Actor, classId: string): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    const worker = await traineeOrThrow(tx, actor)
    const held = await lockClass(tx, classId)
    if (held.countyId !== worker.countyId) throw noClass()
    assertOpen(held)
    if (held.startsAt <= at) throw BEGUN()
    await giveUp(tx, actor, held, worker.id, at)
  })
}

export const BookForInput = z.object({
  classId: z.uuid(),
  /** Who: the county's number, as on the sign-in card and the lists. */
  countyRef: z.string().trim().min(1, 'Write the county number.').max(60),
})

/** Staff book for somebody who calls or stands at the door. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT,
 *  INVALID_INPUT */
export async function bookFor(
  actor: Actor,
  input: z.output<typeof BookForInput>,
): Promise<{ name: string; state: BookingState }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const held = await lockClass(tx, input.classId)
    assertCan(actor, 'manageClasses', held.countyId)
    assertOpen(held)
    const worker = await tx.pollWorker.findFirst({
      where: {
        countyId: held.countyId,
        active: true,
        countyRef: { equals: input.countyRef, mode: 'insensitive' },
      },
    })
    if (!worker)
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Nobody active in this county has this number.',
        fields: { countyRef: 'Look the number up in the list of people.' },
      })
    const state = await book(tx, actor, held, worker.id, at)
    return { name: `${worker.givenName} ${worker.familyName}`, state }
  })
}

export const GiveUpForInput = z.object({ classId: z.uuid(), workerId: z.uuid() })

/** Staff take somebody off the list. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function giveUpFor(actor: Actor, input: z.output<typeof GiveUpForInput>): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    const held = await lockClass(tx, input.classId)
    assertCan(actor, 'manageClasses', held.countyId)
    assertOpen(held)
    if (!(await giveUp(tx, actor, held, input.workerId, at)))
      throw new AppError('NOT_FOUND', { userMessage: 'This person is not on the list.' })
  })
}
