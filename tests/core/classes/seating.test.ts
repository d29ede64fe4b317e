import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type BookingRecord, movedUp, seatingOf } from '@/lib/classes/core/seating'

const at = (minute: number) => new Date(Date.UTC(2026, 8, 1, 9, minute))
const booking = (id: string, minute: number, more: Partial<BookingRecord> = {}): BookingRecord => ({
  id,
  bookedAt: at(minute),
  cancelledAt: null,
  signedInAt: null,
  ...more,
})

describe('seats in a class', () => {
  it('go to the first who booked; the others wait in their order', () => {
    const states = seatingOf([booking('c', 3), booking('a', 1), booking('b', 2)], { seats: 1, closed: false })
    expect(states.get('a')).toEqual({ state: 'seat' })
    expect(states.get('b')).toEqual({ state: 'waiting', place: 1 })
    expect(states.get('c')).toEqual({ state: 'waiting', place: 2 })
  })

  it('once the sheet is closed: here has attended, a seat without a sign-in is a no-show, waiting is not', () => {
    const states = seatingOf(
      [
        booking('here', 1, { signedInAt: at(60) }),
        booking('absent', 2),
        booking('squeezed-in', 3, { signedInAt: at(61) }),
        booking('waited', 4),
        booking('gave-up', 0, { cancelledAt: at(5) }),
      ],
      { seats: 2, closed: true },
    )
    expect(Object.fromEntries([...states].map(([id, s]) => [id, s.state]))).toEqual({
      here: 'attended',
      absent: 'noShow',
      'squeezed-in': 'attended',
      waited: 'notCalled',
      'gave-up': 'cancelled',
    })
  })

  const someBookings = fc
    .uniqueArray(fc.integer({ min: 0, max: 500 }), { maxLength: 12 })
    .chain((minutes) =>
      fc.tuple(
        ...minutes.map((minute) =>
          fc.boolean().map((gone) => booking(`b${minute}`, minute, { cancelledAt: gone ? at(600) : null })),
        ),
      ),
    )

  it('law: one gives up, at most one moves up, and it is the first who waits; nobody loses a seat', () => {
    fc.assert(
      fc.property(someBookings, fc.integer({ min: 1, max: 6 }), fc.nat(), (bookings, seats, pick) => {
        const standing = bookings.filter((b) => b.cancelledAt === null)
        if (standing.length === 0) return
        const gone = standing[pick % standing.length]!
        const before = seatingOf(bookings, { seats, closed: false })
        const after = seatingOf(
          bookings.map((b) => (b.id === gone.id ? { ...b, cancelledAt: at(700) } : b)),
          { seats, closed: false },
        )
        const up = movedUp(before, after)
        const first = [...before].find(([, s]) => s.state === 'waiting' && s.place === 1)?.[0]
        const gaveUpSeat = before.get(gone.id)?.state === 'seat'
        expect(up).toEqual(gaveUpSeat && first ? [first] : [])
        for (const [id, s] of before)
          if (s.state === 'seat' && id !== gone.id) expect(after.get(id)).toEqual({ state: 'seat' })
      }),
    )
  })

  it('law: exactly min(seats, standing) people have a seat', () => {
    fc.assert(
      fc.property(someBookings, fc.integer({ min: 1, max: 6 }), (bookings, seats) => {
        const states = [...seatingOf(bookings, { seats, closed: false }).values()]
        const standing = bookings.filter((b) => b.cancelledAt === null).length
        expect(states.filter((s) => s.state === 'seat')).toHaveLength(Math.min(seats, standing))
      }),
    )
  })
})
