import type { CivilDate } from '@/lib/kernel/dates'
import { dayPartOf } from '@/lib/kernel/day-parts'
import { barredBy, type ServiceRules } from '@/lib/people/service-rules'
import { balancedParty, type CountyRosterRules, solverRules } from './county-rules'
import { type HalfOrFull, RosterInstance } from './schema'

/** What the database knows, turned into the optimiser's terms. Pure: the same rows give the same instance. */

export interface SeatFacts {
  id: string
  placeId: string
  positionKey: string
  /** 1 is filled first. */
  positionRank: number
  certificateKey: string
  servesOn: CivilDate
  shift: HalfOrFull
  legalMinimum: boolean
}

export interface PersonFacts {
  id: string
  homeLat: number | null
  homeLon: number | null
  languages: string[]
  electionsServed: number
  maxTravelKm: number | null
  unavailableOn: string[]
  offersShift: string
  active: boolean
  student: boolean
  livesOutside: boolean
  homePrecinct: string | null
  birthYear: number | null
  party: string | null
}

/** Candidate, relative of one, conflict: from one day to another, both included; at one place, or (null) at all. */
export interface ExclusionFacts {
  personId: string
  placeId: string | null
  firstOn: string
  lastOn: string | null
}

/** Two people whom the office wants in one crew, or not in one. */
export interface PairFacts {
  kind: 'together' | 'apart'
  people: [string, string]
}

export interface SpanFacts {
  personId: string
  certificateKey: string
  validFrom: CivilDate
  validUntil: CivilDate | null
}

export interface SeatedFacts {
  seatId: string
  personId: string
  /** Which part of the day. */
  half: HalfOrFull
  locked: boolean
}

export interface InstanceFacts {
  seats: readonly SeatFacts[]
  /** `precincts`: whose residents alone may sit there where the county asks for it; null: anybody's. */
  places: readonly { id: string; lat: number; lon: number; precincts: string[] | null }[]
  people: readonly PersonFacts[]
  exclusions: readonly ExclusionFacts[]
  pairs: readonly PairFacts[]
  /** The county's own: students, residents. */
  rules: ServiceRules
  /** What it wants of its rosters. */
  wishes: CountyRosterRules
  /** Where people served last, by their id. */
  lastPlaces: ReadonlyMap<string, string>
  spans: readonly SpanFacts[]
  seated: readonly SeatedFacts[]
}

/** Where each student may sit, so that no crew can get more than the county lets serve together: one place each, the
 *  nearest that still has room, those who are locked somewhere first. Nobody is told of where the rule has no limit.
 *  Straight lines in degrees are near enough to compare. O(students × places). */
export function studentPlaces(facts: InstanceFacts): Map<string, string | null> {
  const most = facts.rules.studentsPerCrew
  const chosen = new Map<string, string | null>()
  if (most === null) return chosen
  const placeOfSeat = new Map(facts.seats.map((seat) => [seat.id, seat.placeId]))
  const lockedAt = new Map(
    facts.seated.filter((s) => s.locked).map((s) => [s.personId, placeOfSeat.get(s.seatId) ?? null]),
  )
  const withSeats = new Set(facts.seats.map((seat) => seat.placeId))
  const open = facts.places.filter((place) => withSeats.has(place.id))
  const certified = new Set(facts.spans.map((span) => span.personId))
  const conflicts = new Set(
    facts.exclusions.flatMap((e) => (e.placeId === null ? [] : [`${e.personId} ${e.placeId}`])),
  )
  const taken = new Map<string, number>()
  const students = facts.people.filter((p) => p.student && certified.has(p.id))
  const inOrder = [
    ...students.filter((p) => lockedAt.has(p.id)),
    ...students.filter((p) => !lockedAt.has(p.id)),
  ]
  for (const person of inOrder) {
    const apart = (place: { lat: number; lon: number }) =>
      person.homeLat === null || person.homeLon === null
        ? 0
        : (place.lat - person.homeLat) ** 2 +
          ((place.lon - person.homeLon) * Math.cos((person.homeLat * Math.PI) / 180)) ** 2
    let best: { id: string; apart: number } | null = null
    for (const place of open) {
      if ((taken.get(place.id) ?? 0) >= most || conflicts.has(`${person.id} ${place.id}`)) continue
      const away = apart(place)
      if (best === null || away < best.apart) best = { id: place.id, apart: away }
    }
    const place = lockedAt.get(person.id) ?? best?.id ?? null
    if (place !== null) taken.set(place, (taken.get(place) ?? 0) + 1)
    chosen.set(person.id, place)
  }
  return chosen
}

/** What keeps each person from serving, by the election's days. */
function barriers(facts: InstanceFacts, dates: readonly CivilDate[]) {
  const own = new Map<string, ExclusionFacts[]>()
  for (const e of facts.exclusions) own.set(e.personId, [...(own.get(e.personId) ?? []), e])
  const covers = (e: ExclusionFacts, date: string) =>
    e.firstOn <= date && (e.lastOn === null || date <= e.lastOn)
  return (person: PersonFacts): { dates: CivilDate[]; places: string[] } => {
    const exclusions = own.get(person.id) ?? []
    return {
      dates: dates.filter(
        (date) =>
          barredBy(facts.rules, person, date) !== null ||
          exclusions.some((e) => e.placeId === null && covers(e, date)),
      ),
      // A conflict with a place on one of an early-voting site's days counts for all of them.
      places: exclusions.flatMap((e) =>
        e.placeId !== null && dates.some((date) => covers(e, date)) ? [e.placeId] : [],
      ),
    }
  }
}

/** Pairs in the optimiser's terms: each that a roster misses on a day counts one. */
export function pairRules(pairs: readonly PairFacts[], people: readonly { id: string }[]) {
  const known = new Set(people.map((person) => person.id))
  const of = (kind: PairFacts['kind']) =>
    pairs
      .filter((pair) => pair.kind === kind && pair.people.every((id) => known.has(id)))
      .map((pair) => ({ people: pair.people, weight: 1 }))
  return { keepTogether: of('together'), keepApart: of('apart') }
}

/** The instance of one election: certificates by their spans, availability, exclusions and shift on each of the election's dates,
 *  the county's wishes, pairs of people, travel and what counts as such, locked seatings kept. Lead seats first, then the legal crew, then the rest; within each
 *  the county's rank of the position. O(people + seats + spans). */
export function buildInstance(facts: InstanceFacts): RosterInstance {
  const dates = [...new Set(facts.seats.map((seat) => seat.servesOn))].sort()
  const spansBy = new Map<string, Map<string, { from: CivilDate; until: CivilDate | null }[]>>()
  for (const span of facts.spans) {
    const own = spansBy.get(span.personId) ?? new Map()
    own.set(span.certificateKey, [
      ...(own.get(span.certificateKey) ?? []),
      { from: span.validFrom, until: span.validUntil },
    ])
    spansBy.set(span.personId, own)
  }
  const seatings = facts.seated.map(({ locked, ...seating }) => ({ locked, seating }))
  const barrierOf = barriers(facts, dates)
  const studentAt = studentPlaces(facts)
  const { rules, costs } = solverRules(facts.wishes)
  const placesBut = (id: string | null) => facts.places.flatMap((p) => (p.id === id ? [] : [p.id]))
  return RosterInstance.parse({
    people: facts.people.map((person) => {
      const shift = dayPartOf(person.offersShift)
      const barred = barrierOf(person)
      const away = new Set([...person.unavailableOn, ...barred.dates])
      const always = shift === 'full' && !dates.some((date) => away.has(date))
      return {
        id: person.id,
        at: person.homeLat === null || person.homeLon === null ? null : [person.homeLat, person.homeLon],
        certificates: [...(spansBy.get(person.id) ?? [])].map(([key, spans]) => ({
          key,
          spans: spans.sort((a, b) => (a.from < b.from ? -1 : 1)),
        })),
        available: always ? null : dates.filter((date) => !away.has(date)).map((date) => ({ date, shift })),
        languages: person.languages,
        experience: person.electionsServed,
        excluded: !person.active || (dates.length > 0 && barred.dates.length === dates.length),
        excludedPlaces: studentAt.has(person.id)
          ? [...new Set([...barred.places, ...placesBut(studentAt.get(person.id)!)])]
          : barred.places,
        maxTravelKm: person.maxTravelKm,
        residence: person.homePrecinct?.trim().toLowerCase() ?? null,
        party: balancedParty(facts.wishes, person.party),
        lastPlaceId: facts.lastPlaces.get(person.id) ?? null,
      }
    }),
    places: facts.places.map((place) => ({
      id: place.id,
      at: [place.lat, place.lon],
      residences: facts.rules.residents === 'precinct' ? place.precincts : null,
    })),
    seats: facts.seats.map((seat) => ({
      id: seat.id,
      placeId: seat.placeId,
      position: seat.positionKey,
      tier: seat.positionRank === 1 ? 'lead' : seat.legalMinimum ? 'minimum' : 'rest',
      rank: Math.min(99, Math.max(1, seat.positionRank)),
      date: seat.servesOn,
      shift: seat.shift,
      certificate: seat.certificateKey,
      duty: seat.positionRank === 1 ? 'lead' : seat.positionKey === facts.wishes.deputy ? 'deputy' : null,
    })),
    rules: { ...rules, ...pairRules(facts.pairs, facts.people) },
    costs,
    locks: seatings.filter((s) => s.locked).map((s) => s.seating),
    current: seatings.map((s) => s.seating),
  })
}
