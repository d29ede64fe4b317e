/** Turns tentative people a seat (the bound's choices, or a roster) into filters: which party, which minimums met; the
 *  least-cost roster under those filters is then exact. */
import type { LagrangianBound } from './bound'
import { assignmentFor, planRows, runAssignment, writeState } from './least-cost'
import { RosterState } from './state'

export interface Pattern {
  /** Seat modes of level 1 and how many seats of each class stay empty. */
  mode: Uint8Array
  deficits: Int32Array
  /** Tentative unit of each seat, and of its second half; −1: none. */
  first: Int32Array
  second?: Int32Array | undefined
}

/** The roster, or null where the filters contradict level 1; and the work it took. */
export function patternRoster(
  bound: LagrangianBound,
  unitBits: Int32Array,
  { mode, deficits, first, second }: Pattern,
): { state: RosterState | null; work: number } {
  const { model } = bound
  const plan = planRows(model, mode)
  const rowOf = new Int32Array(model.seatCount).fill(-1)
  for (let r = plan.seat.length - 1; r >= 0; r--) rowOf[plan.seat[r]!] = r
  for (let r = 0; r < plan.seat.length; r++) {
    const seat = plan.seat[r]!
    const unit = plan.slot[r] === 0 ? first[seat]! : (second?.[seat] ?? -1)
    if (unit >= 0 && bound.crews[model.seatCrew[seat]!]!.partyMatters)
      plan.parties[r] = 1 << model.unitParty[unit]!
  }
  // As many rows as each minimum needs keep to people who meet it.
  for (const crew of bound.crews)
    for (const slot of crew.slots) {
      let need = slot.need
      for (const g of crew.groups)
        for (const s of model.groupSeats[g]!) {
          const r = rowOf[s]!
          const unit = first[s]!
          if (need === 0 || unit < 0 || r < 0 || plan.slot[r] !== 0) continue
          if (unitBits[unit]! & (1 << slot.minimum)) {
            plan.needs[r] = plan.needs[r]! | (1 << slot.minimum)
            need--
          }
        }
    }
  const problem = assignmentFor(model, plan, deficits, unitBits)
  if (!runAssignment(problem)) return { state: null, work: problem.work }
  const state = new RosterState(model)
  writeState(model, plan, problem, state)
  return { state, work: problem.work }
}
