/** What is on record of one booking. */
export interface BookingRecord {
  id: string
  bookedAt: Date
  cancelledAt: Date | null
  signedInAt: Date | null
}

export type BookingState =
  | { state: 'seat' }
  /** `place` 1 is the next to get a seat. */
  | { state: 'waiting'; place: number }
  | { state: 'cancelled' }
  | { state: 'attended' }
  | { state: 'noShow' }
  /** Was still waiting when the class was held. */
  | { state: 'notCalled' }

/** Booking id → how it stands: the first `seats` bookings that were not given up have a seat, the others wait in the
 *  order of booking (at the same instant: of id). Who signed in has attended once the sheet is closed, with or without
 *  a seat. Nobody is passed over: giving up a seat moves the first who waits up. O(n log n). */
export function seatingOf(
  bookings: readonly BookingRecord[],
  held: { seats: number; closed: boolean },
): Map<string, BookingState> {
  const states = new Map<string, BookingState>()
  const standing = bookings
    .filter((b) => b.cancelledAt === null)
    .sort((a, b) => a.bookedAt.getTime() - b.bookedAt.getTime() || (a.id < b.id ? -1 : 1))
  for (const b of bookings) if (b.cancelledAt !== null) states.set(b.id, { state: 'cancelled' })
  standing.forEach((b, i) => {
    const seated = i < held.seats
    if (held.closed) states.set(b.id, { state: b.signedInAt ? 'attended' : seated ? 'noShow' : 'notCalled' })
    else states.set(b.id, seated ? { state: 'seat' } : { state: 'waiting', place: i - held.seats + 1 })
  })
  return states
}

/** Ids that wait before a change and have a seat after it. */
export const movedUp = (
  before: ReadonlyMap<string, BookingState>,
  after: ReadonlyMap<string, BookingState>,
): string[] =>
  [...after].flatMap(([id, now]) => (now.state === 'seat' && before.get(id)?.state === 'waiting' ? [id] : []))
