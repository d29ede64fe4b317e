/** Level 3 alone: the least-cost roster that keeps the seats filled of level 1, exact for given seat modes (whole or
 *  shared) and row filters. It knows nothing of violations; filters (a party, an attribute) let the searches above it
 *  steer them. */
import { Assignment } from './assign'
import { AFTERNOON, MORNING, WHOLE } from './eligibility'
import type { LevelOne } from './level-one'
import type { Model } from './model'
import type { RosterState } from './state'

export interface RowPlan {
  seat: Int32Array
  /** 0: first slot (whole or morning), 1: second slot (afternoon). */
  slot: Uint8Array
  kinds: Uint8Array
  parties: Uint8Array
  needs: Int32Array
}

/** Rows for seat modes: a shared seat has two, every other free seat one; `takes` leaves seats out. */
export function planRows(
  model: Model,
  mode: Uint8Array,
  takes: (seat: number) => boolean = () => true,
): RowPlan {
  const seat: number[] = []
  const slot: number[] = []
  const kinds: number[] = []
  for (let s = 0; s < model.seatCount; s++) {
    if (model.seatGroup[s]! < 0 || !takes(s)) continue
    if (mode[s] === 2) {
      seat.push(s, s)
      slot.push(0, 1)
      kinds.push(1 << MORNING, 1 << AFTERNOON)
    } else {
      seat.push(s)
      slot.push(0)
      kinds.push(1 << WHOLE)
    }
  }
  return {
    seat: Int32Array.from(seat),
    slot: Uint8Array.from(slot),
    kinds: Uint8Array.from(kinds),
    parties: new Uint8Array(seat.length).fill(7),
    needs: new Int32Array(seat.length),
  }
}

/** How many seats of each class stay empty under level 1 (locked seats are filled). */
export function deficitsOf(model: Model, levelOne: LevelOne): Int32Array {
  return Int32Array.from(model.classes, (c, k) => c.seats - levelOne.filled[k]!)
}

/** Sets up the assignment. Shared rows must not go to the spare column, so they get a class of their own without
 *  capacity. */
export function assignmentFor(
  model: Model,
  plan: RowPlan,
  deficits: Int32Array,
  unitBits: Int32Array,
): Assignment {
  const shared = model.classes.length
  const problem = new Assignment(
    { start: model.arcStart, column: model.arcUnit, cost: model.arcCost, kind: model.arcKind },
    model.unitCount,
    Int32Array.from(plan.seat, (s) => model.seatGroup[s]!),
    plan.kinds,
    Int32Array.from(plan.seat, (s, r) =>
      plan.kinds[r] === 1 << WHOLE ? model.groupClass[model.seatGroup[s]!]! : shared,
    ),
    plan.parties,
    plan.needs,
    model.unitParty,
    unitBits,
    model.unitLocked,
    model.classes.length + 1,
  )
  problem.spareCapacity.set(deficits)
  return problem
}

/** Inserts every row; those that can't be placed under their filter lose first what they need, then their party; then so
 *  do the rows that hold what they could take. Returns false when some row still finds no place (then the seats to be
 *  filled contradict level 1). */
export function runAssignment(problem: Assignment, tick?: (share: number) => void): boolean {
  const wanted = problem.spareCapacity.slice()
  const short = [...wanted.keys()].filter((k) => wanted[k]! > 0)
  for (const k of short) problem.spareCapacity[k] = problem.rowCount
  if (!placeAll(problem, tick)) return false
  for (const k of short) raiseSpare(problem, k, wanted)
  for (const k of short) {
    problem.spareCapacity[k] = wanted[k]!
    for (const row of problem.rowsInSpare(k).slice(wanted[k]!)) problem.remove(row)
  }
  return placeAll(problem, tick)
}

function placeAll(problem: Assignment, tick?: (share: number) => void): boolean {
  for (let r = 0; r < problem.rowCount; r++) {
    if (tick && (r & 255) === 0) tick(r / problem.rowCount)
    if (problem.columnOf[r]! >= 0 || problem.insert(r)) continue
    problem.rowNeeds[r] = 0
    problem.rowPrice[r] = 0
    if (problem.insert(r)) continue
    problem.rowParties[r] = 7
    problem.rowPrice[r] = 0
    while (!problem.insert(r)) if (!dropFilters(problem, problem.reachedFrom(r))) return false
  }
  return true
}

/** False where there was nothing to drop. */
function dropFilters({ rowParties, rowNeeds }: Assignment, rows: readonly number[]): boolean {
  let dropped = false
  for (const row of rows) {
    if (rowParties[row] === 7 && rowNeeds[row] === 0) continue
    rowParties[row] = 7
    rowNeeds[row] = 0
    dropped = true
  }
  return dropped
}

/** Metres that a class's spare column costs at the first trial. */
const FIRST_PRICE = 1024

/** Seats that must stay empty are what makes chains long: with few people every seat of a class competes for every empty
 *  one. So a class's spare column first takes any number of rows at a price, which keeps chains short, and the price is
 *  raised (doubled, then halved into) until hardly more rows stay out than must. What is left is exact: prices stay valid
 *  all along, and a spare column that ends up full may have any price. */
function raiseSpare(problem: Assignment, k: number, wanted: Int32Array): void {
  const enough = wanted[k]! + Math.max(4, wanted[k]! >> 6)
  let low = 0
  let high = Number.POSITIVE_INFINITY
  while (problem.rowsInSpare(k).length > enough && high - low > 1) {
    const price = high < Number.POSITIVE_INFINITY ? (low + high) >> 1 : Math.max(FIRST_PRICE, 2 * low)
    if (price > 2 ** 30) return
    const before = problem.save()
    const rows = [...problem.rowsInSpare(k)]
    for (const row of rows) problem.remove(row)
    problem.columnPrice[problem.spare + k] = -price
    for (const row of rows) problem.insert(row)
    if (problem.rowsInSpare(k).length < wanted[k]!) {
      problem.restore(before)
      high = price
    } else low = price
  }
}

/** Writes an assignment into a roster state. */
export function writeState(model: Model, plan: RowPlan, problem: Assignment, state: RosterState): void {
  state.first.fill(-1)
  state.second.fill(-1)
  state.seatOfUnit.fill(-1)
  for (let r = 0; r < plan.seat.length; r++) {
    const column = problem.columnOf[r]!
    if (column >= 0 && column < model.unitCount) state.put(plan.seat[r]!, plan.slot[r] === 1 ? 1 : 0, column)
  }
}
