/** Why a person isn't placed, or sits here and not at the place asked for. */
import { halfCode, type Ineligibility, ineligibility, WHOLE } from './eligibility'
import { anyPart, openPart } from './explain'
import type { Prepared } from './prepared'
import { arcCostOf } from './state'

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
    return ineligibility(instance, person, seat, anyPart(seat))
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
    const units = [unit, old]
    const score = () => {
      let sum = state.pairViolationsOf(units)
      for (const c of crews) sum += state.crewViolation(c)
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
