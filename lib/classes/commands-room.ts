import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { recordCheckOff, recordFact } from '@/lib/certification/commands'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { civilDateAt } from '@/lib/kernel/dates'
import { AppError, unreachable } from '@/lib/kernel/errors'
import { recordAttendance } from './commands'
import { lockClass } from './facts'
import type { RecordOutcome, RoomRecord } from './schema'

/** Marks somebody on the list as here, or not. After the sheet is closed the fact follows at once: it is recorded, or
 *  taken back. The same mark again changes nothing. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function signInToClass(
  actor: Actor,
  input: { classId: string; workerId: string; here: boolean },
): Promise<{ changed: boolean }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const held = await lockClass(tx, input.classId)
    assertCan(actor, 'manageClasses', held.countyId)
    if (actor.pollWorkerId === input.workerId)
      throw new AppError('FORBIDDEN', {
        userMessage: 'Nobody can sign themselves in from a staff account. Ask another trainer.',
      })
    if (held.cancelledAt)
      throw new AppError('CONFLICT', { userMessage: 'This class is cancelled. Nobody can sign in.' })
    const booking = held.bookings.find((b) => b.pollWorkerId === input.workerId && !b.cancelledAt)
    if (!booking)
      throw new AppError('NOT_FOUND', {
        userMessage: 'This person is not on the list. Add them by their county number first.',
      })
    const heldOn = civilDateAt(held.startsAt, held.county.timeZone)
    if (civilDateAt(at, held.county.timeZone) < heldOn)
      throw new AppError('CONFLICT', { userMessage: `This class is on ${heldOn}. Sign in on that day.` })
    if ((booking.signedInAt !== null) === input.here) return { changed: false }
    await tx.classBooking.update({
      where: { id: booking.id },
      data: { signedInAt: input.here ? at : null, ...(input.here ? {} : { factId: null }) },
    })
    if (held.closedAt && input.here) await recordAttendance(tx, actor, held, booking, at)
    if (!input.here && booking.factId)
      await recordFact(
        tx,
        { accountId: actor.accountId, at },
        {
          countyId: held.countyId,
          workerId: booking.pollWorkerId,
          kind: 'revocation',
          topic: 'was not in the class',
          on: civilDateAt(at, held.county.timeZone),
          revokes: booking.factId,
        },
      )
    await appendAudit(
      tx,
      { chain: held.countyId, actorAccountId: actor.accountId, at },
      {
        event: 'class.signed-in',
        subject: `class:${held.id}`,
        detail: { workerId: input.workerId, here: input.here },
      },
    )
    return { changed: true }
  })
}

/** Takes what a tablet wrote down, in its order, each in a transaction of its own. A record that is refused for good is
 *  answered with the reason and does not hold up the others; the same record again is `already`.
 *  @throws AppError FORBIDDEN, NOT_FOUND where the account has no such work in this county */
export async function takeRoomRecords(
  actor: Actor,
  countyId: string,
  records: readonly RoomRecord[],
): Promise<RecordOutcome[]> {
  assertCan(actor, 'recordCheckOff', countyId)
  const outcomes: RecordOutcome[] = []
  for (const record of records) {
    try {
      const done = await takeOne(actor, record)
      outcomes.push({ key: record.key, status: done ? 'recorded' : 'already' })
    } catch (error) {
      if (!(error instanceof AppError)) throw error
      outcomes.push({ key: record.key, status: 'refused', message: error.userMessage })
    }
  }
  return outcomes
}

async function takeOne(actor: Actor, record: RoomRecord): Promise<boolean> {
  switch (record.kind) {
    case 'checkOff': {
      const { key, kind: _, ...rest } = record
      return (await recordCheckOff(actor, { ...rest, formKey: key })).recorded
    }
    case 'signIn':
      return (await signInToClass(actor, record)).changed
    default:
      return unreachable(record)
  }
}
