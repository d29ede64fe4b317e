/** Every roster of a small instance, tried: depth-first over seats in priority order, with the partial roster cut off
 *  when even filling every seat left could not beat the best at level 1. Exact at all three levels; used where the
 *  count of nodes is small enough, and then the levels are closed 'by search'. O(product of choices). */
import { AFTERNOON, MORNING, WHOLE } from './eligibility'
import type { Model } from './model'
import { RosterState } from './state'

export interface SearchResult {
  state: RosterState
  filled: number[]
  violations: number
  cost: number
}

/** Null when more than `nodeLimit` partial rosters would have to be looked at. */
export function searchAll(model: Model, start: RosterState, nodeLimit: number): SearchResult | null {
  const seats: number[] = []
  for (let s = 0; s < model.seatCount; s++) if (model.seatGroup[s]! >= 0) seats.push(s)
  seats.sort(
    (a, b) => model.groupClass[model.seatGroup[a]!]! - model.groupClass[model.seatGroup[b]!]! || a - b,
  )
  // A first count of the tree, so that large instances lose no time here.
  let product = 1
  for (const s of seats) {
    const g = model.seatGroup[s]!
    product *= 1 + (model.arcStart[g + 1]! - model.arcStart[g]!)
    if (product > nodeLimit * 64) return null
  }
  const K = model.classes.length
  const remaining = Array.from({ length: seats.length + 1 }, () => new Int32Array(K))
  for (let i = seats.length - 1; i >= 0; i--) {
    remaining[i]!.set(remaining[i + 1]!)
    remaining[i]![model.groupClass[model.seatGroup[seats[i]!]!]!]!++
  }
  const state = new RosterState(model)
  const filled = Int32Array.from(model.lockedFilled)
  const best: SearchResult = {
    state: new RosterState(model),
    filled: start.filledByClass(),
    violations: start.violations(),
    cost: start.cost(),
  }
  best.state.copyFrom(start)
  let nodes = 0
  /** Positive: the filled seats (plus all that are left) beat the best; 0 equal; negative: worse. */
  const compare = (left: Int32Array): number => {
    for (let k = 0; k < K; k++) {
      const d = filled[k]! + left[k]! - best.filled[k]!
      if (d !== 0) return d
    }
    return 0
  }
  const go = (i: number, cost: number): boolean => {
    if (++nodes > nodeLimit) return false
    if (compare(remaining[i]!) < 0) return true
    if (i === seats.length) {
      const better = compare(remaining[i]!)
      if (state.hardBreaches() > 0) return true
      const violations = state.violations()
      if (
        better > 0 ||
        violations < best.violations ||
        (violations === best.violations && cost < best.cost)
      ) {
        best.state.copyFrom(state)
        best.filled = [...filled]
        best.violations = violations
        best.cost = cost
      }
      return true
    }
    const seat = seats[i]!
    const g = model.seatGroup[seat]!
    const k = model.groupClass[g]!
    filled[k]!++
    for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
      const u = model.arcUnit[a]!
      if (state.seatOfUnit[u]! >= 0 || model.unitLocked[u]) continue
      if (model.arcKind[a] === WHOLE) {
        state.put(seat, 0, u)
        const on = go(i + 1, cost + model.arcCost[a]!)
        state.put(seat, 0, -1)
        if (!on) return false
      } else if (model.arcKind[a] === MORNING) {
        state.put(seat, 0, u)
        for (let b = model.arcStart[g]!; b < model.arcStart[g + 1]!; b++) {
          const v = model.arcUnit[b]!
          if (model.arcKind[b] !== AFTERNOON || state.seatOfUnit[v]! >= 0 || model.unitLocked[v]) continue
          state.put(seat, 1, v)
          const on = go(i + 1, cost + model.arcCost[a]! + model.arcCost[b]!)
          state.put(seat, 1, -1)
          if (!on) return false
        }
        state.put(seat, 0, -1)
      }
    }
    filled[k]!--
    return go(i + 1, cost)
  }
  return go(0, model.lockedCost) ? best : null
}
