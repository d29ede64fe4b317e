import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { seatingOf } from './core/seating'
import { lockClass, tellAboutClass } from './facts'

/** How long before a class people are reminded. */
const AHEAD_MS = 48 * 3_600_000

/** Writes to everybody with a seat in a class that begins within two days; each person once for each date of a class,
 *  however often this runs. Returns how many messages were written. */
export async function remindOfClasses(at: Date): Promise<number> {
  const soon = await db().trainingClass.findMany({
    where: { cancelledAt: null, startsAt: { gt: at, lte: new Date(at.getTime() + AHEAD_MS) } },
    select: { id: true },
    orderBy: { id: 'asc' },
  })
  let written = 0
  for (const { id } of soon)
    written += await transaction(async (tx) => {
      const held = await lockClass(tx, id)
      if (held.cancelledAt || held.startsAt <= at) return 0
      const states = seatingOf(held.bookings, { seats: held.seats, closed: false })
      const seated = held.bookings.filter((b) => states.get(b.id)?.state === 'seat')
      const to = seated.map((b) => ({ workerId: b.pollWorkerId, mark: held.startsAt.toISOString() }))
      return tellAboutClass(tx, 'class-reminder', held, held.county, to, at)
    })
  return written
}
