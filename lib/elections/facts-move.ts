import type { Tx } from '@/lib/db/client'
import { partIn } from '@/lib/kernel/day-parts'
import { sha256Hex } from '@/lib/kernel/hash'
import { REACH_COLUMNS, reachOf } from '@/lib/people/reach'
import { distanceKm } from '@/lib/places/core/distance'

export interface MovedTo {
  name: string
  address: string
  lat: number
  lon: number
}

export interface TouchedPerson {
  id: string
  name: string
  phone: string | null
  reach: ReturnType<typeof reachOf>
  /** In words: which work on which days. */
  seats: { position: { en: string; es: string }; servesOn: string; shift: string }[]
  /** The new place is further away than they are ready to travel. Never told of a protected address. */
  tooFar: boolean
}

/** Who sits at a place on the newest roster of an election, with how they are reached, and what the place serves. */
export async function whatAMoveTouches(tx: Tx, electionId: string, placeId: string, to: MovedTo | null) {
  const roster = await tx.roster.findFirst({ where: { electionId }, orderBy: { version: 'desc' } })
  const seatings = roster
    ? await tx.seating.findMany({
        where: { rosterId: roster.id, seat: { pollingPlaceId: placeId } },
        orderBy: [{ seat: { servesOn: 'asc' } }, { id: 'asc' }],
        select: {
          morningOn: true,
          afternoonOn: true,
          seat: {
            select: { servesOn: true, shift: true, position: { select: { nameEn: true, nameEs: true } } },
          },
          pollWorker: {
            select: {
              id: true,
              givenName: true,
              familyName: true,
              phone: true,
              homeLat: true,
              homeLon: true,
              maxTravelKm: true,
              confidentialAddress: true,
              ...REACH_COLUMNS,
            },
          },
        },
      })
    : []
  const people = new Map<string, TouchedPerson>()
  for (const { seat, pollWorker: w, ...halves } of seatings) {
    const known = w.homeLat !== null && w.homeLon !== null && w.maxTravelKm !== null
    const person = people.get(w.id) ?? {
      id: w.id,
      name: `${w.givenName} ${w.familyName}`,
      phone: w.phone,
      reach: reachOf(w),
      seats: [],
      tooFar:
        to !== null &&
        known &&
        !w.confidentialAddress &&
        distanceKm([w.homeLat!, w.homeLon!], [to.lat, to.lon]) > w.maxTravelKm!,
    }
    const position = { en: seat.position.nameEn, es: seat.position.nameEs }
    person.seats.push({ position, servesOn: seat.servesOn, shift: partIn(halves) })
    people.set(w.id, person)
  }
  const seats = await tx.seat.count({ where: { electionId, pollingPlaceId: placeId } })
  const precincts = await tx.precinct.findMany({
    where: { pollingPlaceId: placeId },
    orderBy: { code: 'asc' },
  })
  const others = await tx.election.findMany({
    where: { id: { not: electionId }, seats: { some: { pollingPlaceId: placeId } } },
    select: { name: true, heldOn: true },
    orderBy: { heldOn: 'asc' },
  })
  // Whom no published roster named has not been asked yet: a message would puzzle them.
  const asked = (await tx.roster.count({ where: { electionId, publishedAt: { not: null } } })) > 0
  const published = Boolean(roster?.publishedAt)
  return { people: [...people.values()], seats, precincts, others, published, asked }
}
export type Touched = Awaited<ReturnType<typeof whatAMoveTouches>>

/** What the preview showed: whom it touches, and where the place stood. A move is that, or is refused. */
export const moveToken = (before: MovedTo, to: MovedTo, touched: Touched): string =>
  sha256Hex(
    JSON.stringify([
      [before.name, before.address, before.lat, before.lon],
      [to.name, to.address, to.lat, to.lon],
      touched.people.map((p) => [p.id, p.seats.length, p.reach.address]),
      touched.asked,
    ]),
  ).slice(0, 32)
