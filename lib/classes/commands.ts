import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { recordFact } from '@/lib/certification/commands'
import { listPolicies } from '@/lib/certification/queries'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { instantAt } from '@/lib/kernel/wall-time'
import { movedUp, seatingOf } from './core/seating'
import { classTopicsOf } from './core/topics'
import { type LockedClass, lockClass, noClass, tellAboutClass } from './facts'
import { CHECK_OFF_DAY, ClassInput } from './schema'

async function assertKnown(tx: Tx, input: ClassInput): Promise<void> {
  const topics = classTopicsOf(await listPolicies(tx, input.countyId))
  if (!topics.some((topic) => topic.key === input.topic))
    throw new AppError('INVALID_INPUT', {
      userMessage: 'No rule of this county asks for such a class.',
      fields: { topic: 'Choose one of the list.' },
    })
  if (
    input.positionKey &&
    !(await tx.position.findUnique({
      where: { countyId_key: { countyId: input.countyId, key: input.positionKey } },
    }))
  )
    throw new AppError('INVALID_INPUT', {
      userMessage: 'This county has no such position.',
      fields: { positionKey: 'Choose one of the list.' },
    })
}

const columnsOf = (input: ClassInput, timeZone: string) => ({
  topic: input.topic,
  positionKey: input.positionKey,
  locale: input.locale,
  placeName: input.placeName,
  placeAddress: input.placeAddress,
  startsAt: instantAt(input.on, input.from, timeZone),
  endsAt: instantAt(input.on, input.until, timeZone),
  seats: input.seats,
  trainerName: input.trainerName,
  note: input.note,
})

/** @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function makeClass(actor: Actor, input: ClassInput): Promise<{ classId: string }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    assertCan(actor, 'manageClasses', input.countyId)
    const county = await tx.county.findUnique({ where: { id: input.countyId } })
    if (!county) throw noClass()
    await assertKnown(tx, input)
    const columns = columnsOf(input, county.timeZone)
    if (columns.startsAt <= at)
      throw new AppError('INVALID_INPUT', {
        userMessage: 'A new class begins in the future.',
        fields: { on: 'Choose a later day or time.' },
      })
    const { id } = await tx.trainingClass.create({
      data: { countyId: county.id, createdAt: at, ...columns },
    })
    await appendAudit(
      tx,
      { chain: county.id, actorAccountId: actor.accountId, at },
      { event: 'class.made', subject: `class:${id}`, detail: { topic: input.topic, seats: input.seats } },
    )
    return { classId: id }
  })
}

export const ChangeClassInput = z.intersection(
  ClassInput,
  z.object({ classId: z.uuid(), revision: z.coerce.number().int().min(0) }),
)

/** What people are told of when it changes. */
const TOLD = [
  'topic',
  'locale',
  'placeName',
  'placeAddress',
  'startsAt',
  'endsAt',
  'trainerName',
  'note',
] as const

/** Changes a class that is still to be held. Everybody who is booked is told of what matters to them; where there are
 *  more seats, the first who wait get them. @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT, CONFLICT */
export async function changeClass(actor: Actor, input: z.output<typeof ChangeClassInput>): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    const before = await lockClass(tx, input.classId)
    assertCan(actor, 'manageClasses', before.countyId)
    assertOpen(before)
    if (before.countyId !== input.countyId) throw noClass()
    if (before.revision !== input.revision)
      throw new AppError('CONFLICT', {
        userMessage:
          'Somebody changed this class meanwhile. Load the page again and look before you repeat it.',
      })
    await assertKnown(tx, input)
    const columns = columnsOf(input, before.county.timeZone)
    const states = seatingOf(before.bookings, { seats: before.seats, closed: false })
    const seated = [...states.values()].filter((s) => s.state === 'seat').length
    if (columns.seats < seated)
      throw new AppError('INVALID_INPUT', {
        userMessage: `${seated} people already have a seat. Nobody loses one by this form.`,
        fields: { seats: `At least ${seated}.` },
      })
    const changed = Object.keys(columns).filter((key) => {
      const [was, is] = [before[key as keyof typeof columns], columns[key as keyof typeof columns]]
      return was instanceof Date ? was.getTime() !== (is as Date).getTime() : was !== is
    })
    if (changed.length === 0) return
    const revision = before.revision + 1
    const after = await tx.trainingClass.update({
      where: { id: before.id },
      data: { ...columns, revision },
    })
    const booked = before.bookings.filter((b) => b.cancelledAt === null)
    if (changed.some((key) => (TOLD as readonly string[]).includes(key)))
      await tellAboutClass(
        tx,
        'class-changed',
        after,
        before.county,
        booked.map((b) => ({ workerId: b.pollWorkerId, mark: String(revision) })),
        at,
      )
    await tellMovedUp(tx, { ...before, ...after }, states, before.bookings, at)
    await appendAudit(
      tx,
      { chain: before.countyId, actorAccountId: actor.accountId, at },
      { event: 'class.changed', subject: `class:${before.id}`, detail: { revision, changed } },
    )
  })
}

export async function tellMovedUp(
  tx: Tx,
  held: LockedClass,
  before: ReturnType<typeof seatingOf>,
  bookings: LockedClass['bookings'],
  at: Date,
): Promise<void> {
  const up = movedUp(before, seatingOf(bookings, { seats: held.seats, closed: false }))
  await tellAboutClass(
    tx,
    'class-seat-free',
    held,
    held.county,
    bookings
      .filter((b) => up.includes(b.id))
      .map((b) => ({ workerId: b.pollWorkerId, mark: b.bookedAt.toISOString() })),
    at,
  )
}

export function assertOpen(held: { cancelledAt: Date | null; closedAt: Date | null }): void {
  if (held.cancelledAt)
    throw new AppError('CONFLICT', {
      userMessage: 'This class is cancelled. Nothing was changed.',
      userMessageEs: 'Esta clase está cancelada. No se cambió nada.',
    })
  if (held.closedAt)
    throw new AppError('CONFLICT', {
      userMessage: 'This class is over and its sheet is closed. Nothing was changed.',
      userMessageEs: 'Esta clase ya terminó. No se cambió nada.',
    })
}

export const OneClassInput = z.object({ classId: z.uuid() })

/** Calls a class off; everybody booked is told. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function cancelClass(actor: Actor, classId: string): Promise<{ booked: number; told: number }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const held = await lockClass(tx, classId)
    assertCan(actor, 'manageClasses', held.countyId)
    assertOpen(held)
    await tx.trainingClass.update({
      where: { id: classId },
      data: { cancelledAt: at, revision: held.revision + 1 },
    })
    const booked = held.bookings.filter((b) => b.cancelledAt === null)
    const told = await tellAboutClass(
      tx,
      'class-cancelled',
      held,
      held.county,
      booked.map((b) => ({ workerId: b.pollWorkerId, mark: 'cancelled' })),
      at,
    )
    await appendAudit(
      tx,
      { chain: held.countyId, actorAccountId: actor.accountId, at },
      { event: 'class.cancelled', subject: `class:${classId}`, detail: { bookings: booked.length } },
    )
    return { booked: booked.length, told }
  })
}

/** Closes the sign-in sheet: who signed in has attended, which becomes a fact; who had a seat and didn't come is a
 *  no-show. Again it changes nothing. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function closeClass(
  actor: Actor,
  classId: string,
): Promise<{ attended: number; noShows: number }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const held = await lockClass(tx, classId)
    assertCan(actor, 'manageClasses', held.countyId)
    const count = () => {
      const states = [...seatingOf(held.bookings, { seats: held.seats, closed: true }).values()]
      return {
        attended: states.filter((s) => s.state === 'attended').length,
        noShows: states.filter((s) => s.state === 'noShow').length,
      }
    }
    if (held.closedAt) return count()
    assertOpen(held)
    if (at < held.startsAt)
      throw new AppError('CONFLICT', {
        userMessage: 'This class has not begun yet. Close the sheet when it is over.',
      })
    await tx.trainingClass.update({
      where: { id: classId },
      data: { closedAt: at, revision: held.revision + 1 },
    })
    // One order for everybody, so that two closings of two classes never wait for each other in a ring.
    const present = held.bookings
      .filter((b) => b.cancelledAt === null && b.signedInAt)
      .sort((a, b) => (a.pollWorkerId < b.pollWorkerId ? -1 : 1))
    for (const booking of present) await recordAttendance(tx, actor, held, booking, at)
    await appendAudit(
      tx,
      { chain: held.countyId, actorAccountId: actor.accountId, at },
      { event: 'class.closed', subject: `class:${classId}`, detail: count() },
    )
    return count()
  })
}

/** The fact that somebody attended. A check-off day counts for nothing by itself: what was shown on it does. */
export async function recordAttendance(
  tx: Tx,
  actor: Actor,
  held: LockedClass,
  booking: { id: string; pollWorkerId: string; factId: string | null },
  at: Date,
): Promise<void> {
  if (booking.factId || held.topic === CHECK_OFF_DAY) return
  const factId = await recordFact(
    tx,
    { accountId: actor.accountId, at },
    {
      countyId: held.countyId,
      workerId: booking.pollWorkerId,
      kind: 'classAttended',
      topic: held.topic,
      on: civilDateAt(held.startsAt, held.county.timeZone),
      witnessedBy: held.trainerName,
    },
  )
  await tx.classBooking.update({ where: { id: booking.id }, data: { factId } })
}
