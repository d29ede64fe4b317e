/** Who may take which seat, one pair at a time: the hard conditions of the schema as plain functions. */
import { holdsOn } from '@/lib/kernel/spans'
import { distanceKm } from '@/lib/places/core/distance'
import type { HalfOrFull, RosterInstance, RosterPerson, RosterSeat } from '../schema'

export const WHOLE = 0
export const MORNING = 1
export const AFTERNOON = 2
/** Of a whole-day seat: all of it or either half. */
export const ANY = 3

/** Party classes: 0 = first balance party, 1 = second, 2 = anything else. */
export type PartyClass = 0 | 1 | 2

export const SHIFT = { full: WHOLE, morning: MORNING, afternoon: AFTERNOON } as const
export const halfName = (half: number): HalfOrFull =>
  half === WHOLE ? 'full' : half === MORNING ? 'morning' : 'afternoon'
export const halfCode = (half: HalfOrFull): number => SHIFT[half]
export const crewKeyOf = (seat: RosterSeat): string => `${seat.placeId}|${seat.precinctId ?? ''}|${seat.date}`

/** Does a person count for a minimum? */
export function meetsMinimum(
  person: RosterPerson,
  minimum: RosterInstance['rules']['minimums'][number],
): boolean {
  if (minimum.kind === 'language') return person.languages.includes(minimum.value)
  if (minimum.kind === 'skill') return person.skills.includes(minimum.value)
  return person.experience >= Number(minimum.value)
}

/** The half-days a person offers on a date: bit 0 full, bit 1 morning, bit 2 afternoon. */
export function availabilityBits(person: RosterPerson, date: string): number {
  if (person.available === null) return 1
  let bits = 0
  for (const a of person.available) {
    if (a.date !== date) continue
    if (a.shift === 'full') bits |= 1
    else if (a.shift === 'morning') bits |= 2
    else if (a.shift === 'afternoon') bits |= 4
    else bits |= 6
  }
  return bits
}

/** The two parties of the balance rule; without one, two names that match nobody. */
export function partiesOf(instance: RosterInstance): [string, string] {
  return instance.rules.balance?.parties ?? ['\u0000', '\u0001']
}

export const partyClass = (party: string | null, a: string, b: string): PartyClass =>
  party === a ? 0 : party === b ? 1 : 2

/** Whole metres; 0 where either end is unknown. */
export const metresBetween = (
  a: readonly [number, number] | null,
  b: readonly [number, number] | null,
): number => (a === null || b === null ? 0 : Math.round(distanceKm(a, b) * 1000))

/** Of latitude; no less than that. */
export const METRES_A_DEGREE = 111_000

/** Whether two points are further apart than some metres, told without a square root or a sine where it can be: no way is
 *  shorter than the difference of latitudes, nor than that of longitudes at the latitude nearer to a pole (a degree
 *  taken as 1 km less than it is, so that the curve of the chord decides nothing within two degrees). */
export function surelyFurther(
  a: readonly [number, number],
  b: readonly [number, number],
  metres: number,
): boolean {
  if (Math.abs(a[0] - b[0]) * METRES_A_DEGREE > metres) return true
  const degrees = Math.abs(a[1] - b[1])
  if (degrees * 110_000 <= metres) return false
  const narrow = Math.cos((Math.max(Math.abs(a[0]), Math.abs(b[0])) * Math.PI) / 180)
  return Math.min(degrees, 360 - degrees, 2) * 110_000 * narrow > metres
}

export type Ineligibility =
  | 'excluded'
  | 'excluded-place'
  | 'certificate'
  | 'availability'
  | 'language'
  | 'skill'
  | 'experience'
  | 'residence'
  | 'travel'

/** Why a person may not take a seat (or half of it), or null. The first reason in a fixed order. */
export function ineligibility(
  instance: RosterInstance,
  person: RosterPerson,
  seat: RosterSeat,
  half: number,
): Ineligibility | null {
  if (person.excluded) return 'excluded'
  if (person.excludedPlaces.includes(seat.placeId)) return 'excluded-place'
  if (seat.certificate !== null) {
    const held = person.certificates.some((c) => c.key === seat.certificate && holdsOn(c.spans, seat.date))
    if (!held) return 'certificate'
  }
  const bits = availabilityBits(person, seat.date)
  const wanted =
    seat.shift === 'full'
      ? half === ANY
        ? 7
        : half === WHOLE
          ? 1
          : half === MORNING
            ? 2
            : 4
      : half === MORNING
        ? 3
        : 5
  if ((bits & wanted) === 0) return 'availability'
  if (!seat.languages.every((l) => person.languages.includes(l))) return 'language'
  if (!seat.skills.every((k) => person.skills.includes(k))) return 'skill'
  if (person.experience < seat.minExperience) return 'experience'
  const place = placeOf(instance, seat.placeId)
  if (
    place.residences !== null &&
    (person.residence === null || !place.residences.includes(person.residence))
  )
    return 'residence'
  const limit = Math.min(
    person.maxTravelKm ?? Number.POSITIVE_INFINITY,
    instance.rules.maxTravelKm ?? Number.POSITIVE_INFINITY,
  )
  if (limit === Number.POSITIVE_INFINITY || !person.at || !place.at) return null
  const metres = limit * 1000
  return surelyFurther(person.at, place.at, metres + 100) || metresBetween(person.at, place.at) > metres
    ? 'travel'
    : null
}

const placeCache = new WeakMap<RosterInstance, Map<string, RosterInstance['places'][number]>>()

function placeOf(instance: RosterInstance, id: string) {
  let map = placeCache.get(instance)
  if (!map) {
    map = new Map(instance.places.map((p) => [p.id, p]))
    placeCache.set(instance, map)
  }
  return map.get(id)!
}
