/** Turns tentative people a seat (the bound's choices, or a roster) into filters: which party, which minimums met; the
 *  least-cost roster under those filters is then exact. */
import type { LagrangianBound } from './bound'
import { assignmentFor, planRows, type RowPlan, runAssignment, writeState } from './least-cost'
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
  pattern: Pattern,
): { state: RosterState | null; work: number } {
  const { model } = bound
  const { mode, deficits, first, second } = pattern
  const plan = planRows(model, mode)
  for (let r = 0; r < plan.seat.length; r++) {
    const seat = plan.seat[r]!
    const unit = plan.slot[r] === 0 ? first[seat]! : (second?.[seat] ?? -1)
    if (unit >= 0 && bound.crews[model.seatCrew[seat]!]!.partyMatters)
      plan.parties[r] = 1 << model.unitParty[unit]!
  }
  keepMinimums(bound, unitBits, pattern, plan)
  const problem = assignmentFor(model, plan, deficits, unitBits)
  if (!runAssignment(problem)) return { state: null, work: problem.work }
  const state = new RosterState(model)
  writeState(model, plan, problem, state)
  return { state, work: problem.work }
}

/** As many rows as each minimum needs keep to people who meet it. */
function keepMinimums(
  { model, crews }: LagrangianBound,
  unitBits: Int32Array,
  { first }: Pattern,
  plan: RowPlan,
): void {
  const rowOf = new Int32Array(model.seatCount).fill(-1)
  for (let r = plan.seat.length - 1; r >= 0; r--) rowOf[plan.seat[r]!] = r
  for (const [c, crew] of crews.entries()) {
    const rows = model.crews[c]!.groups.flatMap((g) => model.groupSeats[g]!.map((s) => rowOf[s]!)).filter(
      (r) => r >= 0 && plan.slot[r] === 0,
    )
    const unitOf = (r: number) => first[plan.seat[r]!]!
    for (const { minimum, need } of crew.slots) {
      const bit = 1 << minimum
      const meeting = rows.filter((r) => unitOf(r) >= 0 && (unitBits[unitOf(r)]! & bit) !== 0)
      for (const r of meeting.slice(0, need)) plan.needs[r] = plan.needs[r]! | bit
    }
  }
}
