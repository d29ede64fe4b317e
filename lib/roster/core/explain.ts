/** Why a seat is empty, and why a person isn't placed: reasons that hold, each with a witness that a person can check.
 *
 *  A Hall-type witness is a group of seats and the people who could take any of them: fewer people than seats, so at
 *  least one seat of the group stays empty, whoever sits where (Hall 1935). It is found by following chains of
 *  changes from the empty seat: if no chain ends at a free person or at a seat of a later priority, what was reached
 *  is the witness. O(arcs reached). */
import {
  AFTERNOON,
  halfCode,
  halfName,
  type Ineligibility,
  ineligibility,
  MORNING,
  metresBetween,
  WHOLE,
} from './eligibility'
import type { Model } from './model'
import { type Prepared, prepareRoster } from './prepared'
import { openHalf, seatingsOf } from './result'
import { arcCostOf } from './state'

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
  seats: number[]
  units: number[]
  /** A free unit reached, or −1. */
  free: number
  /** A filled seat of a later class reached, or −1. */
  later: number
  /** Unit → the seat it was reached from, −1 where it wasn't. */
  via: Int32Array
}

/** Follows chains from a seat over arcs of the given kinds. `slot`: which occupant holds a seat in this half. */
function reach(prepared: Prepared, seat: number, kinds: number, second: boolean): Reach {
  const { model, state } = prepared
  const occupantOf = (s: number) => (second && state.second[s]! >= 0 ? state.second[s]! : state.first[s]!)
  const usedHere = (unit: number): number => {
    const s = state.seatOfUnit[unit]!
    return s >= 0 && occupantOf(s) === unit ? s : -1
  }
  const via = new Int32Array(model.unitCount).fill(-1)
  const queue = [seat]
  const seen = new Uint8Array(model.seatCount)
  seen[seat] = 1
  // Seats of a group share their arcs: the first one reached has found all that the others could.
  const scanned = new Uint8Array(model.groupCount)
  const units: number[] = []
  const firstClass = model.groupClass[model.seatGroup[seat]!]!
  for (let head = 0; head < queue.length; head++) {
    const s = queue[head]!
    const g = model.seatGroup[s]!
    if (scanned[g]) continue
    scanned[g] = 1
    for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
      const unit = model.arcUnit[a]!
      if (via[unit]! >= 0 || ((1 << model.arcKind[a]!) & kinds) === 0) continue
      via[unit] = s
      units.push(unit)
      const holder = usedHere(unit)
      // A half-day person who serves the other half elsewhere counts as a person of this group.
      if (holder < 0) {
        if (state.seatOfUnit[unit]! < 0) return { seats: queue, units, free: unit, later: -1, via }
        continue
      }
      if (model.groupClass[model.seatGroup[holder]!]! > firstClass)
        return { seats: queue, units, free: -1, later: holder, via }
      if (!seen[holder]) {
        seen[holder] = 1
        queue.push(holder)
      }
    }
  }
  return { seats: queue, units, free: -1, later: -1, via }
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

/** A seat with the part of its day that is to be filled. */
function openPart({ model, instance }: Prepared, seat: number) {
  const row = instance.seats[seat]!
  return model.seatLocked[seat] ? row : { ...row, shift: halfName(openHalf(model, seat)) }
}

/** Explains one seat of a roster. @throws RangeError for an unknown seat. */
export function explainSeat(prepared: Prepared, seatId: string): SeatExplanation {
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
  let certified = 0
  const refused: Partial<Record<Ineligibility, number>> = {}
  for (const person of instance.people) {
    const why =
      row.shift === 'full'
        ? firstNull(
            ineligibility(instance, person, row, WHOLE),
            () => ineligibility(instance, person, row, MORNING),
            () => ineligibility(instance, person, row, AFTERNOON),
          )
        : ineligibility(instance, person, row, halfCode(row.shift))
    if (why === null) answer.eligible++
    else refused[why] = (refused[why] ?? 0) + 1
    if (
      row.certificate === null ||
      person.certificates.some(
        (c) =>
          c.key === row.certificate &&
          c.spans.some((s) => s.from <= row.date && (s.until === null || row.date < s.until)),
      )
    )
      certified++
  }
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
  let closed: Reach | null = null
  for (const [kinds, second, half] of tries) {
    const r = reach(prepared, seat, kinds, second)
    if (r.free < 0 && r.later < 0) {
      closed = r
      answer.half = half
      break
    }
  }
  if (!closed) {
    const whole = reach(prepared, seat, 1 << WHOLE, false)
    const open = whole.free >= 0 || whole.later >= 0
    if (!open) return { ...answer, reason: 'not-proven' }
    const chain = chainOf(prepared, whole, seat)
    const hard = instance.rules.balance?.mode === 'hard'
    return { ...answer, reason: hard ? 'hard-balance' : 'could-be-filled', chain }
  }
  answer.seats = closed.seats.map((s) => instance.seats[s]!.id)
  answer.people = closed.units.map((u) => personOf(model, u))
  if (instance.locks.length > 0) {
    const unlocked = withoutLocks(prepared)
    const r = reach(unlocked, seat, 1 << WHOLE, false)
    if (r.free >= 0 || r.later >= 0) return { ...answer, reason: 'locks', chain: chainOf(unlocked, r, seat) }
  }
  return { ...answer, reason: 'too-few-people' }
}

function firstNull<T>(first: T | null, ...more: (() => T | null)[]): T | null {
  if (first === null) return null
  for (const next of more) if (next() === null) return null
  return first
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

/** Explains every empty seat. */
export const explainEmptySeats = (prepared: Prepared): SeatExplanation[] =>
  prepared.instance.seats
    .filter((_, s) => !prepared.model.seatLocked[s] && prepared.state.first[s]! < 0)
    .map((seat) => explainSeat(prepared, seat.id))

export interface PersonExplanation {
  personId: string
  /** Where the person sits, one entry a date. */
  seated: { seatId: string; locked: boolean }[]
  /** `placed`; `not-eligible`: for no seat; `no-seat-left`: every seat they could take is held by somebody, and
   *  seating them instead would not fill one more. `could-help`: an empty seat is open to them. */
  reason: 'placed' | 'not-eligible' | 'no-seat-left' | 'could-help'
  eligibleSeats: number
  refused: Partial<Record<Ineligibility, number>>
  /** For each place asked for: what the cheapest single exchange that puts the person there would change. */
  asked: {
    placeId: string
    outcome: 'here' | 'not-eligible' | 'no-exchange' | 'exchange'
    refused: Partial<Record<Ineligibility, number>>
    seatId: string | null
    violations: number
    metres: number
  }[]
}

/** Explains one person: why not placed, why here and not at the place asked for. @throws RangeError when unknown. */
export function explainPerson(prepared: Prepared, personId: string): PersonExplanation {
  const { model, instance, state } = prepared
  const index = model.personIndex.get(personId)
  if (index === undefined) throw new RangeError(`no such person: "${personId}"`)
  const person = instance.people[index]!
  const seated: PersonExplanation['seated'] = model.locks
    .filter((l) => l.person === index)
    .map((l) => ({ seatId: instance.seats[l.seat]!.id, locked: true }))
  for (let d = 0; d < model.dates.length; d++) {
    const unit = model.unitOf[index * model.dates.length + d]!
    const seat = unit < 0 ? -1 : state.seatOfUnit[unit]!
    if (seat >= 0) seated.push({ seatId: instance.seats[seat]!.id, locked: false })
  }
  const refused: PersonExplanation['refused'] = {}
  let eligibleSeats = 0
  let openSeat = false
  const refusal = (s: number) => {
    const seat = openPart(prepared, s)
    return seat.shift === 'full'
      ? firstNull(
          ineligibility(instance, person, seat, WHOLE),
          () => ineligibility(instance, person, seat, MORNING),
          () => ineligibility(instance, person, seat, AFTERNOON),
        )
      : ineligibility(instance, person, seat, halfCode(seat.shift))
  }
  for (let s = 0; s < model.seatCount; s++) {
    const why = refusal(s)
    if (why !== null) refused[why] = (refused[why] ?? 0) + 1
    else {
      eligibleSeats++
      const part = openPart(prepared, s)
      if (
        !model.seatLocked[s] &&
        state.first[s]! < 0 &&
        ineligibility(instance, person, part, halfCode(part.shift)) === null
      )
        openSeat = true
    }
  }
  const asked = person.preferredPlaces.map((placeId) => askedFor(prepared, index, placeId, refusal))
  const reason =
    seated.length > 0
      ? 'placed'
      : eligibleSeats === 0
        ? 'not-eligible'
        : openSeat
          ? 'could-help'
          : 'no-seat-left'
  return { personId, seated, reason, eligibleSeats, refused, asked }
}

function askedFor(
  prepared: Prepared,
  person: number,
  placeId: string,
  refusal: (seat: number) => Ineligibility | null,
): PersonExplanation['asked'][number] {
  const { model, instance, state } = prepared
  const refused: Partial<Record<Ineligibility, number>> = {}
  let best: { seat: number; violations: number; metres: number } | null = null
  let eligible = false
  for (let s = 0; s < model.seatCount; s++) {
    const row = instance.seats[s]!
    if (row.placeId !== placeId) continue
    const why = refusal(s)
    if (why !== null) {
      refused[why] = (refused[why] ?? 0) + 1
      continue
    }
    eligible = true
    const d = model.dates.indexOf(row.date)
    const unit = model.unitOf[person * model.dates.length + d]!
    if (unit < 0 || model.unitLocked[unit] || model.seatLocked[s] || state.second[s]! >= 0) continue
    const from = state.seatOfUnit[unit]!
    if (
      from === s ||
      (from >= 0 && model.crewPlace[model.seatCrew[from]!] === model.crewPlace[model.seatCrew[s]!])
    )
      return { placeId, outcome: 'here', refused, seatId: row.id, violations: 0, metres: 0 }
    if (from >= 0 && state.second[from]! >= 0) continue
    const g = model.seatGroup[s]!
    const old = state.first[s]!
    const into = arcCostOf(model, g, unit, WHOLE)
    if (into < 0) continue
    // The person displaced takes the person's old seat, or is let go when the person had none.
    let metres = into - (old >= 0 ? arcCostOf(model, g, old) : 0)
    if (from >= 0) {
      if (old < 0 && model.groupClass[model.seatGroup[from]!]! <= model.groupClass[g]!) continue
      const back = old < 0 ? 0 : arcCostOf(model, model.seatGroup[from]!, old, WHOLE)
      if (back < 0) continue
      metres += back - arcCostOf(model, model.seatGroup[from]!, unit)
    }
    const crews = new Set([model.seatCrew[s]!, ...(from >= 0 ? [model.seatCrew[from]!] : [])])
    const units = [unit, old].filter((u) => u >= 0)
    const score = () => {
      let sum = 0
      for (const c of crews) sum += state.crewViolation(c)
      for (const u of units) sum += state.pairViolation(u)
      return sum
    }
    const before = score()
    state.put(s, 0, unit)
    if (from >= 0) {
      state.first[from] = -1
      if (old >= 0) state.put(from, 0, old)
    }
    const violations = score() - before
    if (from >= 0) state.put(from, 0, unit)
    else state.seatOfUnit[unit] = -1
    state.first[s] = old
    if (old >= 0) state.seatOfUnit[old] = s
    if (!best || violations < best.violations || (violations === best.violations && metres < best.metres))
      best = { seat: s, violations, metres }
  }
  if (best)
    return {
      placeId,
      outcome: 'exchange',
      refused,
      seatId: instance.seats[best.seat]!.id,
      violations: best.violations,
      metres: best.metres,
    }
  return {
    placeId,
    outcome: eligible ? 'no-exchange' : 'not-eligible',
    refused,
    seatId: null,
    violations: 0,
    metres: 0,
  }
}

/** Straight-line metres between a person's home and a place. */
export const travelMetres = (prepared: Prepared, personId: string, placeId: string): number =>
  metresBetween(
    prepared.instance.people[prepared.model.personIndex.get(personId)!]!.at,
    prepared.instance.places.find((p) => p.id === placeId)?.at ?? null,
  )
