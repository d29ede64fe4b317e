/** A model and a roster on it: what explanations and repairs start from. Building it costs one compilation; each
 *  question after that is quick. */
import type { RosterInstance, Seating } from '../schema'
import { AFTERNOON, halfCode, WHOLE } from './eligibility'
import { compileModel, type Model } from './model'
import { arcCostOf, RosterState } from './state'

export interface Prepared {
  instance: RosterInstance
  model: Model
  state: RosterState
  /** Seatings of free seats that the model doesn't know as eligible, or half of a seat whose other half is empty; they
   *  were left out of `state`. */
  strangers: Seating[]
}

/** @throws RangeError where a seating names no known seat or person. */
export function prepareRoster(instance: RosterInstance, roster: { seatings: readonly Seating[] }): Prepared {
  const model = compileModel(instance)
  const state = new RosterState(model)
  const strangers: Seating[] = []
  const halves: { seating: Seating; seat: number; kind: number }[] = []
  const isLock = (s: Seating) =>
    instance.locks.some((l) => l.seatId === s.seatId && l.personId === s.personId)
  for (const seating of roster.seatings) {
    const seat = model.seatIndex.get(seating.seatId)
    const person = model.personIndex.get(seating.personId)
    if (seat === undefined) throw new RangeError(`a seating names no known seat: "${seating.seatId}"`)
    if (person === undefined) throw new RangeError(`a seating names no known person: "${seating.personId}"`)
    if (model.seatLocked[seat]) continue
    const date = model.dates.indexOf(instance.seats[seat]!.date)
    const unit = model.unitOf[person * model.dates.length + date]!
    const group = model.seatGroup[seat]!
    const kind = model.groupShift[group] === WHOLE ? halfCode(seating.half) : WHOLE
    if (
      unit < 0 ||
      model.unitLocked[unit] ||
      state.seatOfUnit[unit]! >= 0 ||
      arcCostOf(model, group, unit, kind) < 0
    ) {
      if (!isLock(seating)) strangers.push(seating)
      continue
    }
    state.put(seat, kind === AFTERNOON ? 1 : 0, unit)
    if (kind !== WHOLE) halves.push({ seating, seat, kind })
  }
  for (const { seating, seat, kind } of halves) {
    if (state.first[seat]! >= 0 && state.second[seat]! >= 0) continue
    state.put(seat, kind === AFTERNOON ? 1 : 0, -1)
    strangers.push(seating)
  }
  return { instance, model, state, strangers }
}
