import { z } from 'zod'
import { type DayPart, dayPartOf, type Halves, partIn } from '@/lib/kernel/day-parts'

/** A spot is what one person takes on a roster: a seat, or one half of a whole-day seat that two people share. Its id is
 *  the seat's, for a half with `.morning` or `.afternoon` after it. */

const SPOT = /^([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})(?:\.(morning|afternoon))?$/

export const SpotId = z.string().regex(SPOT, 'Load the page again.')

/** Null: not a spot's id. `half` null: the seat as it is. */
export function readSpot(id: string): { seatId: string; half: 'morning' | 'afternoon' | null } | null {
  const found = SPOT.exec(id)
  return found ? { seatId: found[1]!, half: (found[2] as 'morning' | 'afternoon' | undefined) ?? null } : null
}

/** The id of what somebody takes of a seat. */
export const spotId = (seat: { id: string; shift: string }, part: DayPart): string =>
  seat.shift === 'full' && part !== 'full' ? `${seat.id}.${part}` : seat.id

/** Which part of the day a spot takes. */
export const partOf = (seat: { shift: string }, half: 'morning' | 'afternoon' | null): DayPart =>
  seat.shift === 'full' ? (half ?? 'full') : dayPartOf(seat.shift)

export interface SpotOf<T> {
  part: DayPart
  /** Who sits there; null: nobody. */
  sitting: T | null
}

/** The spots of a seat on a roster: one, or the two halves of its day where two people share it or half of it is empty. */
export function spotsOf<T extends Halves>(seat: { shift: string }, rows: readonly T[]): SpotOf<T>[] {
  const whole = rows[0] ?? null
  if (seat.shift !== 'full' || !whole || partIn(whole) === 'full')
    return [{ part: dayPartOf(seat.shift), sitting: whole }]
  return (['morning', 'afternoon'] as const).map((part) => ({
    part,
    sitting: rows.find((row) => partIn(row) === part) ?? null,
  }))
}
