/** Compiles a `RosterInstance` into typed arrays.
 *
 *  Notation. A *unit* is a person on a date (capacity one seat). A *group* is a set of interchangeable seats: same
 *  crew, position, shift, needs and priority class. An *arc* is an eligible (group, unit) pair with its level-3
 *  cost in metres. A *crew* is place × precinct × date. A full-day seat takes one full-day unit, or a morning and
 *  an afternoon unit together: such half-day units have arcs of kind 1 (morning) and 2 (afternoon); a unit that
 *  may work either half has both, at the same cost.
 *
 *  Locked seats and their units leave the model; what they add to cost, parties and minimums stays as constants. Of a
 *  full-day seat with one half locked the other half is a seat of that half: one person fills it, who may offer the half
 *  or the whole day.
 *  O(groups × people) time, O(arcs) memory; arcs of a group are sorted by cost, then unit.
 */
import type { RosterInstance, RosterSeat } from '../schema'
import {
  AFTERNOON,
  availabilityBits,
  crewKeyOf,
  halfName,
  ineligibility,
  MORNING,
  meetsMinimum,
  metresBetween,
  partiesOf,
  partyClass,
  SHIFT,
  WHOLE,
} from './eligibility'
import { buildArcs } from './model-arcs'

export interface Crew {
  key: string
  place: number
  date: string
  groups: number[]
  /** Indices of `rules.minimums` that apply here. */
  minimums: number[]
  /** Locked members: person indices with the half they cover (0 whole, 1, 2) and their seat. */
  locked: { person: number; half: number; seat: number }[]
}

export interface Model {
  instance: RosterInstance
  dates: string[]
  /** Units: person and date index of each. `unit = unitOf[person * dates.length + date]`, −1 if never available. */
  unitCount: number
  unitPerson: Int32Array
  unitDate: Int32Array
  unitParty: Uint8Array
  unitLocked: Uint8Array
  unitOf: Int32Array
  /** Bit i set: the unit's person counts for minimum i (up to 30 minimums as bits; more go by `meets`). */
  meets(minimum: number, person: number): boolean
  seatCount: number
  seatGroup: Int32Array
  /** 1: nobody else is looked for. A seat with one half locked has 0. */
  seatLocked: Uint8Array
  seatCrew: Int32Array
  groupCount: number
  groupSeats: number[][]
  groupCrew: Int32Array
  groupClass: Int32Array
  /** What is to be filled: 0 the whole day, 1 a morning, 2 an afternoon. */
  groupShift: Uint8Array
  /** 0 none, 1 lead, 2 deputy. */
  groupDuty: Uint8Array
  /** Arcs of group g: `arcStart[g] .. arcStart[g+1]`. */
  arcStart: Int32Array
  arcUnit: Int32Array
  arcCost: Int32Array
  arcKind: Uint8Array
  /** Metres at and beyond which arcs of a group may be missing (sparse models); Infinity when complete. */
  groupCutoff: Float64Array
  classes: { key: string; seats: number; tier: number; rank: number }[]
  crews: Crew[]
  crewPlace: Int32Array
  personIndex: Map<string, number>
  seatIndex: Map<string, number>
  /** Level 3 cost and filled seats by class that the locks fix. */
  lockedCost: number
  lockedFilled: number[]
  locks: { seat: number; person: number; half: number; eligible: boolean }[]
  notes: string[]
}

const TIER = { lead: 0, minimum: 1, rest: 2 } as const
/** What `costs.change` compares. */
const spotOf = (seat: RosterSeat): string => `${crewKeyOf(seat)}|${seat.position}|${seat.shift}`

function assertWhole(instance: RosterInstance): void {
  const unique = (what: string, ids: string[]) => {
    const seen = new Set<string>()
    for (const id of ids) {
      if (seen.has(id)) throw new RangeError(`${what} id "${id}" appears twice`)
      seen.add(id)
    }
    return seen
  }
  const people = unique(
    'person',
    instance.people.map((p) => p.id),
  )
  const places = unique(
    'place',
    instance.places.map((p) => p.id),
  )
  const seats = unique(
    'seat',
    instance.seats.map((s) => s.id),
  )
  for (const seat of instance.seats)
    if (!places.has(seat.placeId)) throw new RangeError(`seat "${seat.id}" names no known place`)
  for (const lock of instance.locks) {
    if (!seats.has(lock.seatId)) throw new RangeError(`a lock names no known seat: "${lock.seatId}"`)
    if (!people.has(lock.personId)) throw new RangeError(`a lock names no known person: "${lock.personId}"`)
  }
  for (const pair of [...instance.rules.keepApart, ...instance.rules.keepTogether])
    for (const id of pair.people)
      if (!people.has(id)) throw new RangeError(`a pair names no known person: "${id}"`)
}

/** @throws RangeError for an instance whose ids don't fit together or whose locks contradict each other. */
export function compileModel(instance: RosterInstance): Model {
  assertWhole(instance)
  const { people, places, seats, rules, costs } = instance
  const dates = [...new Set(seats.map((s) => s.date as string))].sort()
  const dateIndex = new Map(dates.map((d, i) => [d, i]))
  const placeIndex = new Map(places.map((p, i) => [p.id, i]))
  const personIndex = new Map(people.map((p, i) => [p.id, i]))
  const seatIndex = new Map(seats.map((s, i) => [s.id, i]))
  const notes: string[] = []

  // Units.
  const D = dates.length
  const unitOf = new Int32Array(people.length * D).fill(-1)
  const unitPersonList: number[] = []
  const unitDateList: number[] = []
  const unitBits: number[] = []
  for (let p = 0; p < people.length; p++)
    for (let d = 0; d < D; d++) {
      const bits = people[p]!.excluded ? 0 : availabilityBits(people[p]!, dates[d]!)
      if (bits === 0) continue
      unitOf[p * D + d] = unitPersonList.length
      unitPersonList.push(p)
      unitDateList.push(d)
      unitBits.push(bits)
    }
  const unitCount = unitPersonList.length
  const unitPerson = Int32Array.from(unitPersonList)
  const unitDate = Int32Array.from(unitDateList)
  const [partyA, partyB] = partiesOf(instance)
  const unitParty = Uint8Array.from(unitPersonList, (p) => partyClass(people[p]!.party, partyA, partyB))

  // Crews, classes, groups.
  const classKeys = new Map<string, { key: string; seats: number; tier: number; rank: number }>()
  for (const s of seats) {
    const key = `${s.tier}/${s.rank}`
    const entry = classKeys.get(key) ?? { key, seats: 0, tier: TIER[s.tier], rank: s.rank }
    entry.seats++
    classKeys.set(key, entry)
  }
  const classes = [...classKeys.values()].sort((a, b) => a.tier - b.tier || a.rank - b.rank)
  const classIndex = new Map(classes.map((c, i) => [c.key, i]))
  const crews: Crew[] = []
  const crewIndex = new Map<string, number>()
  const seatCrew = new Int32Array(seats.length)
  seats.forEach((s, i) => {
    const key = crewKeyOf(s)
    let c = crewIndex.get(key)
    if (c === undefined) {
      c = crews.length
      crewIndex.set(key, c)
      const minimums = rules.minimums.flatMap((m, j) =>
        (m.placeId === null || m.placeId === s.placeId) &&
        (m.precinctId === null || m.precinctId === s.precinctId)
          ? [j]
          : [],
      )
      crews.push({ key, place: placeIndex.get(s.placeId)!, date: s.date, groups: [], minimums, locked: [] })
    }
    seatCrew[i] = c
  })

  // Locks.
  const seatLocked = new Uint8Array(seats.length)
  const unitLocked = new Uint8Array(unitCount)
  const lockedFilled = classes.map(() => 0)
  const spots = new Map<string, Set<string>>()
  const seatById = new Map(seats.map((s) => [s.id, s]))
  for (const c of instance.current) {
    const seat = seatById.get(c.seatId)
    if (!seat) continue
    const set = spots.get(c.personId) ?? new Set()
    set.add(spotOf(seat))
    spots.set(c.personId, set)
  }
  const hasCurrent = instance.current.length > 0 && costs.change > 0
  const lastPlace = people.map((p) => (p.lastPlaceId === null ? -1 : (placeIndex.get(p.lastPlaceId) ?? -2)))
  const preferred = people.map((p) =>
    p.preferredPlaces.length === 0 ? null : new Set(p.preferredPlaces.map((id) => placeIndex.get(id) ?? -2)),
  )
  /** Level-3 cost of a person at a seat's spot, in metres. */
  const costOf = (p: number, seat: RosterSeat, place: number, metres: number): number => {
    let cost = metres * costs.perTravelMetre
    if (lastPlace[p] !== -1 && lastPlace[p] !== place) cost += costs.notReturning
    if (preferred[p] && !preferred[p]!.has(place)) cost += costs.notPreferred
    if (hasCurrent && !spots.get(people[p]!.id)?.has(spotOf(seat))) cost += costs.change
    return cost
  }
  let lockedCost = 0
  const locks: Model['locks'] = []
  const lockedHalves = new Map<number, number>()
  const lockedUse = new Map<string, number>()
  for (const lock of instance.locks) {
    const s = seatIndex.get(lock.seatId)!
    const seat = seats[s]!
    const p = personIndex.get(lock.personId)!
    const half = seat.shift === 'full' ? SHIFT[lock.half] : SHIFT[seat.shift]
    const covers = half === WHOLE ? 3 : half
    if (((lockedHalves.get(s) ?? 0) & covers) !== 0)
      throw new RangeError(`two locks claim seat "${seat.id}" for the same time`)
    lockedHalves.set(s, (lockedHalves.get(s) ?? 0) | covers)
    const use = `${p}|${seat.date}`
    const busy = lockedUse.get(use) ?? 0
    if ((busy & covers) !== 0)
      throw new RangeError(`"${lock.personId}" is locked into two seats at one time on ${seat.date}`)
    lockedUse.set(use, busy | covers)
    const unit = unitOf[p * D + dateIndex.get(seat.date)!]!
    if (unit >= 0) unitLocked[unit] = 1
    const part = { ...seat, shift: halfName(half) }
    const eligible = ineligibility(instance, people[p]!, part, half) === null
    if (!eligible)
      notes.push(`${lock.personId} is locked into ${seat.id} but isn't eligible there; the lock was kept`)
    locks.push({ seat: s, person: p, half, eligible })
    const place = placeIndex.get(seat.placeId)!
    lockedCost += costOf(p, seat, place, metresBetween(people[p]!.at, places[place]!.at))
    crews[seatCrew[s]!]!.locked.push({ person: p, half, seat: s })
  }
  /** What is left to fill of each free seat. */
  const openShift = Uint8Array.from(seats, (s) => SHIFT[s.shift])
  for (const [s, halves] of lockedHalves) {
    if (seats[s]!.shift === 'full' && halves !== 3) {
      openShift[s] = halves === MORNING ? AFTERNOON : MORNING
      continue
    }
    seatLocked[s] = 1
    lockedFilled[classIndex.get(`${seats[s]!.tier}/${seats[s]!.rank}`)!]!++
  }

  // Groups of interchangeable free seats.
  const groupSeats: number[][] = []
  const groupIndex = new Map<string, number>()
  const seatGroup = new Int32Array(seats.length).fill(-1)
  seats.forEach((s, i) => {
    if (seatLocked[i]) return
    const key = [
      seatCrew[i],
      s.position,
      s.shift,
      openShift[i],
      s.tier,
      s.rank,
      s.certificate ?? '',
      s.duty ?? '',
      s.minExperience,
      [...s.languages].sort().join(','),
      [...s.skills].sort().join(','),
    ].join('\u0001')
    let g = groupIndex.get(key)
    if (g === undefined) {
      g = groupSeats.length
      groupIndex.set(key, g)
      groupSeats.push([])
      crews[seatCrew[i]!]!.groups.push(g)
    }
    groupSeats[g]!.push(i)
    seatGroup[i] = g
  })
  const groupCount = groupSeats.length
  const groupCrew = Int32Array.from(groupSeats, (list) => seatCrew[list[0]!]!)
  const groupClass = Int32Array.from(groupSeats, (list) => {
    const s = seats[list[0]!]!
    return classIndex.get(`${s.tier}/${s.rank}`)!
  })
  const groupShift = Uint8Array.from(groupSeats, (list) => openShift[list[0]!]!)
  const groupDuty = Uint8Array.from(groupSeats, (list) => {
    const duty = seats[list[0]!]!.duty
    return duty === 'lead' ? 1 : duty === 'deputy' ? 2 : 0
  })

  // Arcs: people by certificate first, so that a seat looks only at those who hold it.
  const arcs = buildArcs(instance, {
    dates,
    dateIndex,
    placeIndex,
    unitOf,
    unitBits,
    unitLocked,
    groupSeats,
    groupShift,
    costOf,
    lastPlace,
    preferred,
  })

  return {
    instance,
    dates,
    unitCount,
    unitPerson,
    unitDate,
    unitParty,
    unitLocked,
    unitOf,
    meets: (minimum, person) => meetsMinimum(people[person]!, rules.minimums[minimum]!),
    seatCount: seats.length,
    seatGroup,
    seatLocked,
    seatCrew,
    groupCount,
    groupSeats,
    groupCrew,
    groupClass,
    groupShift,
    groupDuty,
    ...arcs,
    groupCutoff: new Float64Array(groupCount).fill(Number.POSITIVE_INFINITY),
    classes,
    crews,
    crewPlace: Int32Array.from(crews, (c) => c.place),
    personIndex,
    seatIndex,
    lockedCost,
    lockedFilled,
    locks,
    notes,
  }
}
