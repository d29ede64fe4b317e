/** A hard party balance, met by leaving seats empty where exchanges found no other way. */
import type { Model } from './model'
import type { RosterState } from './state'

/** Empties seats of the party in excess, those of the lowest priority first, until every crew is balanced. Then
 *  fills empty seats again wherever a free person keeps the crew balanced. O(seats × arcs) at worst. */
export function enforceHardBalance(model: Model, state: RosterState): void {
  for (let c = 0; c < model.crews.length; c++) {
    while (state.balanceExcess(c) > 0) {
      let bestSeat = -1
      let bestExcess = state.balanceExcess(c)
      let bestClass = -1
      for (const g of model.crews[c]!.groups)
        for (const s of model.groupSeats[g]!) {
          const first = state.first[s]!
          if (first < 0) continue
          const second = state.second[s]!
          state.put(s, 0, -1)
          if (second >= 0) state.put(s, 1, -1)
          const excess = state.balanceExcess(c)
          state.put(s, 0, first)
          if (second >= 0) state.put(s, 1, second)
          const k = model.groupClass[g]!
          if (excess < bestExcess && k > bestClass) {
            bestSeat = s
            bestClass = k
          }
        }
      if (bestSeat < 0) break
      bestExcess = 0
      state.put(bestSeat, 0, -1)
      if (state.second[bestSeat]! >= 0) state.put(bestSeat, 1, -1)
    }
  }
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
      if (state.balanceExcess(model.seatCrew[s]!) === 0) break
      state.put(s, 0, -1)
    }
  }
}
