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

/** Rows for seat modes: a shared seat has two, every other free seat one. */
export function planRows(model: Model, mode: Uint8Array): RowPlan {
  const seat: number[] = []
  const slot: number[] = []
  const kinds: number[] = []
  for (let s = 0; s < model.seatCount; s++) {
    if (model.seatGroup[s]! < 0) continue
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

/** Inserts every row; those that can't be placed under their filter get the filter dropped, one by one.
 *  Returns false when some row still finds no place (then the filters contradict level 1). */
export function runAssignment(problem: Assignment, tick?: (share: number) => void): boolean {
  let dropped = false
  for (let r = 0; r < problem.rowCount; r++) {
    if (tick && (r & 255) === 0) tick(r / problem.rowCount)
    if (problem.columnOf[r]! >= 0 || problem.insert(r)) continue
    problem.rowParties[r] = 7
    problem.rowNeeds[r] = 0
    dropped = true
    if (problem.insert(r)) continue
    return false
  }
  return !dropped || problem.columnOf.every((c) => c >= 0)
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
