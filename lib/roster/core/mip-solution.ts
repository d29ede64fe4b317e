import type { RosterMip } from './mip-roster'
import type { Model } from './model'
import type { RosterState } from './state'

/** Writes a solution into a state: crews of the window are emptied first. */
export function writeMipSolution(
  model: Model,
  built: RosterMip,
  values: Float64Array,
  crews: readonly number[],
  state: RosterState,
): void {
  for (const c of crews)
    for (const g of model.crews[c]!.groups)
      for (const s of model.groupSeats[g]!) {
        state.put(s, 0, -1)
        state.put(s, 1, -1)
      }
  const byGroup = new Map<number, number[][]>()
  built.arcs.forEach((a, i) => {
    if (values[i]! < 0.5) return
    const lists = byGroup.get(built.groups[i]!) ?? [[], [], []]
    lists[model.arcKind[a]!]!.push(model.arcUnit[a]!)
    byGroup.set(built.groups[i]!, lists)
  })
  for (const [g, [whole, morning, afternoon]] of byGroup) {
    const seats = model.groupSeats[g]!
    whole!.forEach((u, i) => void state.put(seats[i]!, 0, u))
    morning!.forEach((u, i) => {
      state.put(seats[whole!.length + i]!, 0, u)
      state.put(seats[whole!.length + i]!, 1, afternoon![i]!)
    })
  }
}
