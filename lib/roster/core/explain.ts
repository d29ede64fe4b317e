/** Why a seat is empty: reasons that hold, each with a witness that a person can check.
 *
 *  A Hall-type witness is a group of seats and the people who could take any of them: fewer people than seats, so at
 *  least one seat of the group stays empty, whoever sits where (Hall 1935). It is found by following chains of
 *  changes from the empty seat: if no chain ends at a free person or at a seat of a later priority, what was reached
 *  is the witness. O(arcs reached). */
import { holdsOn } from '@/lib/kernel/spans'
import type { RosterInstance, RosterPerson, RosterSeat } from '../schema'
import { type Closed, closedAround } from './closed-groups'
import {
  AFTERNOON,
  ANY,
  halfCode,
  halfName,
  type Ineligibility,
  ineligibility,
  MORNING,
  SHIFT,
  WHOLE,
} from './eligibility'
import type { Model } from './model'
import { type Prepared, prepareRoster } from './prepared'
import { openHalf, seatingsOf } from './result'

export type SeatReason =
  /** Nobody holds the certificate on the date. */
  | 'nobody-certified'
  /** People hold it, but nobody of them may take this seat; `refused` counts why. */
  | 'nobody-eligible'
  /** A group of seats competes for too few people. */
  | 'too-few-people'
  /** A party balance declared hard keeps it empty. */
  | 'hard-balance'
  /** Only moving somebody locked would fill it. */
  | 'locks'
  /** It could be filled by a chain that this roster doesn't make (not an optimal roster). */
  | 'could-be-filled'
  /** Shared seats: the search found no way and neither half alone proves it. */
  | 'not-proven'
  | 'filled'

export interface SeatExplanation {
  seatId: string
  reason: SeatReason
  /** Seats of the witness, the empty one first. */
  seats: string[]
  /** All people who could take any of those seats: fewer than the seats. */
  people: string[]
  /** How many people each hard condition rules out for this seat (its first reason each). */
  refused: Partial<Record<Ineligibility, number>>
  /** People eligible for this very seat. */
  eligible: number
  /** The half of the day that the witness speaks of; `full` for whole-day seats. */
  half: 'full' | 'morning' | 'afternoon'
  /** For `could-be-filled`, `locks` and `hard-balance`: a chain of moves, each person with the seat taken. */
  chain: { personId: string; seatId: string }[]
}

interface Reach {
  /** A free unit reached, or −1. */
  free: number
  /** A filled seat of a later class reached, or −1. */
  later: number
  /** Unit → the seat it was reached from, −1 where it wasn't. */
  via: Int32Array
}

/** Follows chains of whole-day people from a seat to a free person or a seat of a later class. */
function reach({ model, state }: Prepared, seat: number): Reach {
  const via = new Int32Array(model.unitCount).fill(-1)
  const queue = [seat]
  const seen = new Uint8Array(model.seatCount)
  seen[seat] = 1
  // Seats of a group share their arcs: the first one reached has found all that the others could.
  const scanned = new Uint8Array(model.groupCount)
  const firstClass = model.groupClass[model.seatGroup[seat]!]!
  for (let head = 0; head < queue.length; head++) {
    const s = queue[head]!
    const g = model.seatGroup[s]!
    if (scanned[g]) continue
    scanned[g] = 1
    for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
      const unit = model.arcUnit[a]!
      if (via[unit]! >= 0 || model.arcKind[a] !== WHOLE) continue
      via[unit] = s
      const holder = state.seatOfUnit[unit]!
      if (holder < 0) return { free: unit, later: -1, via }
      if (state.first[holder] !== unit) continue
      if (model.groupClass[model.seatGroup[holder]!]! > firstClass) return { free: -1, later: holder, via }
      if (!seen[holder]) {
        seen[holder] = 1
        queue.push(holder)
      }
    }
  }
  return { free: -1, later: -1, via }
}

/** Could somebody who is locked somewhere take one of these seats, or is one of them locked by half? If not, unlocking
 *  changes nothing for them. */
function locksTouch({ model, instance }: Prepared, closed: Closed): boolean {
  if (model.locks.length === 0) return false
  const kinds = new Map<string, RosterSeat[]>()
  for (const g of closed.groups) {
    const seat = instance.seats[model.groupSeats[g]![0]!]!
    if (SHIFT[seat.shift] !== model.groupShift[g]) return true
    const key = `${seat.certificate ?? ''}|${seat.date}`
    const list = kinds.get(key)
    if (list) list.push(seat)
    else kinds.set(key, [seat])
  }
  for (const { person } of model.locks)
    for (const seats of kinds.values()) {
      const who = instance.people[person]!
      const first = ineligibility(instance, who, seats[0]!, anyPart(seats[0]!))
      if (first === 'certificate' || first === 'excluded') continue
      if (seats.some((seat) => ineligibility(instance, who, seat, anyPart(seat)) === null)) return true
    }
  return false
}

/** All of a seat's shift or, of a whole-day seat, also one half. */
export const anyPart = (seat: RosterSeat): number => (seat.shift === 'full' ? ANY : halfCode(seat.shift))

interface Holders {
  /** People with the certificate on the date. */
  people: RosterPerson[]
  /** The others: excluded altogether; those with places where they mustn't serve; the rest. */
  excluded: number
  placed: RosterPerson[]
  rest: number
}

const holdersCache = new WeakMap<RosterInstance, Map<string, Holders>>()

function holdersOf(instance: RosterInstance, row: RosterSeat): Holders {
  const caches = holdersCache.get(instance) ?? new Map<string, Holders>()
  holdersCache.set(instance, caches)
  const key = `${row.certificate ?? ''}|${row.date}`
  let found = caches.get(key)
  if (!found) {
    found = { people: [], excluded: 0, placed: [], rest: 0 }
    for (const person of instance.people)
      if (
        row.certificate === null ||
        person.certificates.some((c) => c.key === row.certificate && holdsOn(c.spans, row.date))
      )
        found.people.push(person)
      else if (person.excluded) found.excluded++
      else if (person.excludedPlaces.length > 0) found.placed.push(person)
      else found.rest++
    caches.set(key, found)
  }
  return found
}

interface Refusals {
  certified: number
  eligible: number
  refused: SeatExplanation['refused']
}

const refusalsCache = new WeakMap<Prepared, Map<string, Refusals>>()

/** The refusals of a seat: seats of one group with the same part open have the same. */
function refusalsOf(prepared: Prepared, seat: number, row: RosterSeat): Refusals {
  const known = refusalsCache.get(prepared) ?? new Map<string, Refusals>()
  refusalsCache.set(prepared, known)
  const key = `${prepared.model.seatGroup[seat]} ${row.shift}`
  const found = known.get(key) ?? countRefusals(prepared, row)
  known.set(key, found)
  return found
}

/** How many people each condition rules out for a seat (the first that does), and how many may take it or half of it. */
function countRefusals({ instance }: Prepared, row: RosterSeat): Refusals {
  const holders = holdersOf(instance, row)
  const refused: SeatExplanation['refused'] = {}
  const count = (why: Ineligibility, n = 1) => {
    if (n > 0) refused[why] = (refused[why] ?? 0) + n
  }
  let eligible = 0
  for (const person of holders.people) {
    const why = ineligibility(instance, person, row, anyPart(row))
    if (why === null) eligible++
    else count(why)
  }
  count('excluded', holders.excluded)
  count('certificate', holders.rest)
  for (const person of holders.placed)
    count(person.excludedPlaces.includes(row.placeId) ? 'excluded-place' : 'certificate')
  return { certified: holders.people.length, eligible, refused }
}

const personOf = (model: Model, unit: number) => model.instance.people[model.unitPerson[unit]!]!.id

function chainOf(prepared: Prepared, r: Reach, start: number): SeatExplanation['chain'] {
  const { model, state } = prepared
  const chain: SeatExplanation['chain'] = []
  let unit = r.free >= 0 ? r.free : state.first[r.later]!
  for (;;) {
    const seat = r.via[unit]!
    chain.push({ personId: personOf(model, unit), seatId: model.instance.seats[seat]!.id })
    if (seat === start) return chain.reverse()
    unit = state.first[seat]!
  }
}

/** Two people who sit nowhere and could share a whole-day seat. */
function freePair({ model, state, instance }: Prepared, seat: number): SeatExplanation['chain'] | null {
  const group = model.seatGroup[seat]!
  const free = (kind: number, but: number): number => {
    for (let a = model.arcStart[group]!; a < model.arcStart[group + 1]!; a++) {
      const unit = model.arcUnit[a]!
      if (model.arcKind[a] === kind && unit !== but && state.seatOfUnit[unit]! < 0) return unit
    }
    return -1
  }
  // Who offers either half mustn't be taken for both.
  const morning = free(MORNING, -1)
  let pair = [morning, morning < 0 ? -1 : free(AFTERNOON, morning)]
  if (morning >= 0 && pair[1]! < 0) {
    const afternoon = free(AFTERNOON, -1)
    pair = [afternoon < 0 ? -1 : free(MORNING, afternoon), afternoon]
  }
  if (pair.some((unit) => unit < 0)) return null
  return pair.map((unit) => ({ personId: personOf(model, unit), seatId: instance.seats[seat]!.id }))
}

/** A seat with the part of its day that is to be filled. */
export function openPart({ model, instance }: Prepared, seat: number) {
  const row = instance.seats[seat]!
  return model.seatLocked[seat] ? row : { ...row, shift: halfName(openHalf(model, seat)) }
}

/** Explains one seat of a roster. @throws RangeError for an unknown seat. */
export const explainSeat = (prepared: Prepared, seatId: string): SeatExplanation =>
  explain(prepared, seatId, false)

function explain(prepared: Prepared, seatId: string, many: boolean): SeatExplanation {
  const { model, instance, state } = prepared
  const seat = model.seatIndex.get(seatId)
  if (seat === undefined) throw new RangeError(`no such seat: "${seatId}"`)
  const row = openPart(prepared, seat)
  const answer: SeatExplanation = {
    seatId,
    reason: 'filled',
    seats: [seatId],
    people: [],
    refused: {},
    eligible: 0,
    half: 'full',
    chain: [],
  }
  if (model.seatLocked[seat] || state.first[seat]! >= 0) return answer
  const { certified, eligible, refused } = refusalsOf(prepared, seat, row)
  answer.eligible = eligible
  answer.refused = refused
  if (certified === 0) return { ...answer, reason: 'nobody-certified' }
  if (answer.eligible === 0) return { ...answer, reason: 'nobody-eligible' }

  const hasHalves =
    row.shift === 'full' && instance.people.some((p) => p.available?.some((a) => a.shift !== 'full'))
  const tries = hasHalves
    ? ([
        [(1 << WHOLE) | (1 << MORNING), false, 'morning'],
        [(1 << WHOLE) | (1 << AFTERNOON), true, 'afternoon'],
      ] as const)
    : ([[1 << WHOLE, false, 'full']] as const)
  let closed: Closed | null = null
  for (const [kinds, second, half] of tries) {
    closed = closedAround(prepared, seat, kinds, second, many)
    if (closed) {
      answer.half = half
      break
    }
  }
  if (!closed) {
    const chain = closedAround(prepared, seat, 1 << WHOLE, false, many)
      ? freePair(prepared, seat)
      : chainOf(prepared, reach(prepared, seat), seat)
    if (!chain) return { ...answer, reason: 'not-proven' }
    const hard = instance.rules.balance?.mode === 'hard'
    return { ...answer, reason: hard ? 'hard-balance' : 'could-be-filled', chain }
  }
  answer.seats = closed.seats.map((s) => instance.seats[s]!.id)
  answer.people = closed.units.map((u) => personOf(model, u))
  if (locksTouch(prepared, closed)) {
    const unlocked = withoutLocks(prepared)
    if (!closedAround(unlocked, seat, 1 << WHOLE, false, many))
      return { ...answer, reason: 'locks', chain: chainOf(unlocked, reach(unlocked, seat), seat) }
  }
  return { ...answer, reason: 'too-few-people' }
}

const unlockedCache = new WeakMap<Prepared, Prepared>()
function withoutLocks(prepared: Prepared): Prepared {
  let other = unlockedCache.get(prepared)
  if (!other) {
    const { instance, model, state } = prepared
    other = prepareRoster({ ...instance, locks: [] }, seatingsOf(model, state))
    unlockedCache.set(prepared, other)
  }
  return other
}

/** Explains every empty seat, one after the other: in a large county each witness may name most of its people. */
export function* explainEmptySeats(prepared: Prepared): Generator<SeatExplanation> {
  for (const [s, seat] of prepared.instance.seats.entries())
    if (!prepared.model.seatLocked[s] && prepared.state.first[s]! < 0) yield explain(prepared, seat.id, true)
}
