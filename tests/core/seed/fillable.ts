import type { CountyRows, PollWorkerRow, SeatRow } from '@/prisma/seed/rows'

/** The most seats of one day that certified, available people can fill, each person at most one seat: a maximum
 *  matching by augmenting paths (Kuhn's algorithm), written here and independent of the product's roster. Travel is
 *  left out. */
export function mostFillable(rows: CountyRows, on: string): { seats: number; filled: number } {
  const certificateOf = new Map(rows.positions.map(({ id, certificateKey }) => [id, certificateKey]))
  const holders = new Map<string, Set<string>>()
  for (const span of rows.spans)
    if (span.validFrom <= on && (span.validUntil === null || on < span.validUntil))
      holders.set(span.certificateKey, (holders.get(span.certificateKey) ?? new Set()).add(span.pollWorkerId))
  const offers = (person: PollWorkerRow, seat: SeatRow) =>
    !person.unavailableOn.includes(on) &&
    (person.offersShift === 'full' || person.offersShift === seat.shift) &&
    (holders.get(certificateOf.get(seat.positionId)!)?.has(person.id) ?? false)
  const seats = rows.seats
    .filter(({ servesOn }) => servesOn === on)
    .map((seat) => ({ people: rows.pollWorkers.filter((p) => offers(p, seat)).map(({ id }) => id) }))
  const seatOf = new Map<string, (typeof seats)[number]>()
  const fill = (seat: (typeof seats)[number], tried: Set<string>): boolean => {
    for (const id of seat.people) {
      if (tried.has(id)) continue
      tried.add(id)
      const other = seatOf.get(id)
      if (other === undefined || fill(other, tried)) {
        seatOf.set(id, seat)
        return true
      }
    }
    return false
  }
  return { seats: seats.length, filled: seats.filter((seat) => fill(seat, new Set())).length }
}
