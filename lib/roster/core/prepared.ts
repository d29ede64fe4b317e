/** A model and a roster on it: what explanations and repairs start from. Building it costs one compilation; each
 *  question after that is quick. */
import type { RosterInstance, Seating } from '../schema'
import { compileModel, type Model } from './model'
import { arcCostOf, RosterState } from './state'

export interface Prepared {
  instance: RosterInstance
  model: Model
  state: RosterState
  /** Seatings of free seats that the model doesn't know as eligible; they were left out of `state`. */
  strangers: Seating[]
}

/** @throws RangeError where a seating names no known seat or person. */
export function prepareRoster(instance: RosterInstance, roster: { seatings: readonly Seating[] }): Prepared {
  const model = compileModel(instance)
  const state = new RosterState(model)
  const strangers: Seating[] = []
  for (const seating of roster.seatings) {
    const seat = model.seatIndex.get(seating.seatId)
    const person = model.personIndex.get(seating.personId)
    if (seat === undefined) throw new RangeError(`a seating names no known seat: "${seating.seatId}"`)
    if (person === undefined) throw new RangeError(`a seating names no known person: "${seating.personId}"`)
    if (model.seatLocked[seat]) continue
    const date = model.dates.indexOf(instance.seats[seat]!.date)
    const unit = model.unitOf[person * model.dates.length + date]!
    if (
      unit < 0 ||
      model.unitLocked[unit] ||
      state.seatOfUnit[unit]! >= 0 ||
      arcCostOf(model, model.seatGroup[seat]!, unit) < 0
    ) {
      strangers.push(seating)
      continue
    }
    state.put(seat, seating.half === 'afternoon' && instance.seats[seat]!.shift === 'full' ? 1 : 0, unit)
  }
  return { instance, model, state, strangers }
}
