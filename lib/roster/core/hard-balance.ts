/** A hard party balance, met by leaving seats empty where exchanges found no other way. */
import type { Model } from './model'
import type { RosterState } from './state'

/** Empties seats of the party in excess, those of the lowest priority first, until every crew is balanced. Then
 *  fills empty seats again wherever a free person keeps the crew balanced. O(seats × arcs) at worst. */
export function enforceHardBalance(model: Model, state: RosterState): void {
  for (let c = 0; c < model.crews.length; c++) while (state.hardBreach(c) > 0 && emptyOne(model, state, c));
  const empty: number[] = []
  for (let s = 0; s < model.seatCount; s++) if (model.seatGroup[s]! >= 0 && state.first[s]! < 0) empty.push(s)
  empty.sort(
    (a, b) => model.groupClass[model.seatGroup[a]!]! - model.groupClass[model.seatGroup[b]!]! || a - b,
  )
  for (const s of empty) {
    const g = model.seatGroup[s]!
    for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
      const u = model.arcUnit[a]!
      if (model.arcKind[a] !== 0 || model.unitLocked[u] || state.seatOfUnit[u]! >= 0) continue
      state.put(s, 0, u)
      if (state.hardBreach(model.seatCrew[s]!) === 0) break
      state.put(s, 0, -1)
    }
  }
}

/** Empties the seat that brings both halves of the day nearest to balance; of equals the lowest priority. */
function emptyOne(model: Model, state: RosterState, crew: number): boolean {
  const imbalance = () => {
    const [morning, afternoon] = state.differences(crew)
    return Math.abs(morning) + Math.abs(afternoon)
  }
  const before = imbalance()
  let best: { seat: number; left: number; priority: number } | null = null
  for (const g of model.crews[crew]!.groups)
    for (const s of model.groupSeats[g]!) {
      const first = state.first[s]!
      const second = state.second[s]!
      if (first < 0) continue
      state.put(s, 0, -1)
      if (second >= 0) state.put(s, 1, -1)
      const left = imbalance()
      state.put(s, 0, first)
      if (second >= 0) state.put(s, 1, second)
      const priority = model.groupClass[g]!
      if (
        left <= before &&
        (!best || priority > best.priority || (priority === best.priority && left < best.left))
      )
        best = { seat: s, left, priority }
    }
  if (!best) return false
  if (state.second[best.seat]! >= 0) state.put(best.seat, 1, -1)
  state.put(best.seat, 0, -1)
  return true
}
