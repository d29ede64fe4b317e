/** A roster's own pattern, solved exactly: every crew keeps its parties and what it meets of its minimums, and one seat a
 *  crew is left open to each party that breaks no balance more. The least cost under it, and prices of seats and people. */
import type { Random } from '@/lib/kernel/random'
import type { Assignment } from './assign'
import { crewTablesOf } from './crew-tables'
import { WHOLE } from './eligibility'
import { assignmentFor, planRows, type RowPlan, runAssignment, writeState } from './least-cost'
import type { Model } from './model'
import type { RosterState } from './state'

/** Metres: `unit[u] + cost ≥ seat[s]` for whoever fits the pattern of a seat, with equality for who sits there. */
export interface SeatPrices {
  seat: Float64Array
  unit: Float64Array
  /** Arcs looked at. */
  work: number
}

/** Lowers a roster's cost in place; its filled seats stay, and its violations don't rise but for pairs. O(rows × scanned arcs ×
 *  log). */
export function solveOwnPattern(model: Model, state: RosterState, random: Random): SeatPrices {
  const plan = planRows(
    model,
    Uint8Array.from(state.second, (u) => (u >= 0 ? 2 : 1)),
    (seat) => state.first[seat]! >= 0,
  )
  filter(model, state, plan, random)
  const problem = assignmentFor(model, plan, new Int32Array(model.classes.length), state.unitBits)
  if (!runAssignment(problem)) throw new Error('Broken invariant: a roster fits its own pattern')
  writeState(model, plan, problem, state)
  return pricesOf(model, plan, problem)
}

function pricesOf(model: Model, plan: RowPlan, problem: Assignment): SeatPrices {
  const seat = new Float64Array(model.seatCount)
  for (let r = 0; r < plan.seat.length; r++)
    if (plan.slot[r] === 0) seat[plan.seat[r]!] = problem.rowPrice[r]!
  const unit = Float64Array.from({ length: model.unitCount }, (_, u) => -problem.columnPrice[u]!)
  return { seat, unit, work: problem.work }
}

function filter(model: Model, state: RosterState, plan: RowPlan, random: Random): void {
  const { rules } = model.instance
  const rowsOf = model.crews.map((): number[] => [])
  const unitOf = (r: number) => (plan.slot[r] === 0 ? state.first : state.second)[plan.seat[r]!]!
  for (let r = 0; r < plan.seat.length; r++) rowsOf[model.seatCrew[plan.seat[r]!]!]!.push(r)
  for (const [crew, rows] of rowsOf.entries()) {
    keepMinimums(model, state, crew, rows, unitOf, plan)
    if (!rules.balance) continue
    for (const r of rows) plan.parties[r] = 1 << model.unitParty[unitOf(r)]!
    const open = openRows(model, state, crew, rows, unitOf)
    if (open.length === 0) continue
    // Somebody whom a minimum needs is the hardest to find: no party should keep them away.
    const needed = open.filter(({ row }) => plan.needs[row] !== 0)
    const from = needed.length > 0 && random.next() < 0.5 ? needed : open
    const { row, parties } = from[random.below(from.length)]!
    plan.parties[row] = parties
  }
}

/** As many rows as a minimum needs keep to people who meet it: those first that meet nothing else. */
function keepMinimums(
  model: Model,
  { unitBits }: RosterState,
  crew: number,
  rows: readonly number[],
  unitOf: (row: number) => number,
  plan: RowPlan,
): void {
  const t = crewTablesOf(model)
  if (t.minimumStart[crew] === t.minimumStart[crew + 1]) return
  const met = (r: number) => {
    let n = 0
    for (let bits = unitBits[unitOf(r)]!; bits !== 0; bits &= bits - 1) n++
    return n
  }
  const fewestFirst = [...rows].sort((x, y) => met(x) - met(y) || x - y)
  for (let j = t.minimumStart[crew]!; j < t.minimumStart[crew + 1]!; j++) {
    const bit = 1 << t.minimum[j]!
    let need = t.need[j]!
    for (const r of fewestFirst) {
      if (need === 0) break
      if ((unitBits[unitOf(r)]! & bit) === 0) continue
      plan.needs[r] = plan.needs[r]! | bit
      need--
    }
  }
}

/** Rows of a crew without half days, whose person may be of another party (bits) while all others stay. */
function openRows(
  model: Model,
  state: RosterState,
  crew: number,
  rows: readonly number[],
  unitOf: (row: number) => number,
): { row: number; parties: number }[] {
  const rule = model.instance.rules.balance!
  const duty = model.instance.rules.leadDeputySameParty > 0
  const seatOf = (r: number) => state.seatOfUnit[unitOf(r)]!
  const groupOf = (r: number) => model.seatGroup[seatOf(r)]!
  if (rows.some((r) => state.second[seatOf(r)]! >= 0 || model.groupShift[groupOf(r)] !== WHOLE)) return []
  const [difference] = state.differences(crew)
  const most = Math.max(rule.maxDifference, Math.abs(difference))
  return rows.flatMap((row) => {
    if (duty && model.groupDuty[groupOf(row)] !== 0) return []
    const own = model.unitParty[unitOf(row)]!
    let parties = 0
    for (let party = 0; party < 3; party++)
      if (party === own || Math.abs(difference - side(own) + side(party)) <= most) parties |= 1 << party
    return parties === 1 << own ? [] : [{ row, parties }]
  })
}

const side = (party: number): number => (party === 0 ? 1 : party === 1 ? -1 : 0)
