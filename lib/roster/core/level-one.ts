/** Level 1: the most seats by priority class, and covers that prove it.
 *
 *  Without half-day people a seat takes one unit: a matching with priorities, exact (see assign.ts). Where a
 *  morning and an afternoon person may share a seat, deciding which seats are shared is as hard as
 *  three-dimensional matching, so: whole-day people are matched first, then shared seats are added along exchange
 *  chains, and two relaxations (only the mornings must be covered; only the afternoons) bound what is possible.
 *  Where value and bound agree, which is the rule, level 1 is closed all the same.
 *  References: König 1931; Edmonds 1971 (greedy and matroids); Karp 1972 (three-dimensional matching).
 */
import { Assignment, largestMatching } from './assign'
import { AFTERNOON, MORNING, WHOLE } from './eligibility'
import type { Model } from './model'

export interface LevelOne {
  /** Seat mode: 0 empty, 1 whole, 2 shared by two halves. Locked seats: 0 here. */
  mode: Uint8Array
  /** Filled seats of each class, locked ones included. */
  filled: number[]
  /** `columnOf` of a whole-seat matching that fills the seats with mode 1. */
  wholeUnit: Int32Array
  morningUnit: Int32Array
  afternoonUnit: Int32Array
  /** For each class prefix: bound on the filled seats (locked ones included) and the cover that proves it. */
  prefixBound: number[]
  covers: { units: number[]; seats: number[]; half: number }[]
}

/** Rows for every free seat in seat order, restricted to kinds of arc. */
export function freeSeatRows(model: Model): Int32Array {
  const rows: number[] = []
  for (let s = 0; s < model.seatCount; s++) if (model.seatGroup[s]! >= 0) rows.push(s)
  return Int32Array.from(rows)
}

export function matchingProblem(
  model: Model,
  seats: Int32Array,
  kinds: number,
  banned: Uint8Array = model.unitLocked,
): Assignment {
  return new Assignment(
    { start: model.arcStart, column: model.arcUnit, cost: model.arcCost, kind: model.arcKind },
    model.unitCount,
    Int32Array.from(seats, (s) => model.seatGroup[s]!),
    new Uint8Array(seats.length).fill(kinds),
    Int32Array.from(seats, (s) => model.groupClass[model.seatGroup[s]!]!),
    new Uint8Array(seats.length).fill(7),
    new Int32Array(seats.length),
    model.unitParty,
    new Int32Array(model.unitCount),
    banned,
    model.classes.length,
  )
}

/** Minimum cover of the rows of classes up to `last`: columns reachable from unfilled rows along alternating
 *  chains, and the rows that aren't reachable (König). */
function coverOf(problem: Assignment, columnOf: Int32Array, last: number) {
  const { arcs, rowList, rowClass } = problem
  const rowOf = new Int32Array(problem.columnCount).fill(-1)
  for (let r = 0; r < columnOf.length; r++)
    if (columnOf[r]! >= 0 && rowClass[r]! <= last) rowOf[columnOf[r]!] = r
  const reached = new Uint8Array(problem.columnCount)
  const rowReached = new Uint8Array(columnOf.length)
  const stack: number[] = []
  for (let r = 0; r < columnOf.length; r++)
    if (rowClass[r]! <= last && columnOf[r] === -1) {
      rowReached[r] = 1
      stack.push(r)
    }
  while (stack.length > 0) {
    const row = stack.pop()!
    for (let a = arcs.start[rowList[row]!]!; a < arcs.start[rowList[row]! + 1]!; a++) {
      const column = arcs.column[a]!
      if (reached[column] || !problem.usable(row, a)) continue
      reached[column] = 1
      const next = rowOf[column]!
      if (next >= 0 && !rowReached[next]) {
        rowReached[next] = 1
        stack.push(next)
      }
    }
  }
  const units: number[] = []
  for (let c = 0; c < reached.length; c++) if (reached[c]) units.push(c)
  const rows: number[] = []
  for (let r = 0; r < columnOf.length; r++) if (rowClass[r]! <= last && !rowReached[r]) rows.push(r)
  return { units, rows }
}

export function solveLevelOne(model: Model): LevelOne {
  const seats = freeSeatRows(model)
  const whole = matchingProblem(model, seats, 1 << WHOLE)
  const { columnOf } = largestMatching(whole)
  const hasHalves = model.arcKind.some((k) => k !== WHOLE)
  const mode = new Uint8Array(model.seatCount)
  const wholeUnit = new Int32Array(model.seatCount).fill(-1)
  const morningUnit = new Int32Array(model.seatCount).fill(-1)
  const afternoonUnit = new Int32Array(model.seatCount).fill(-1)
  for (let r = 0; r < seats.length; r++)
    if (columnOf[r]! >= 0) {
      wholeUnit[seats[r]!] = columnOf[r]!
      mode[seats[r]!] = 1
    }
  if (hasHalves) shareSeats(model, seats, mode, wholeUnit, morningUnit, afternoonUnit)

  const filled = [...model.lockedFilled]
  for (const s of seats) if (mode[s]! > 0) filled[model.groupClass[model.seatGroup[s]!]!]!++

  const relaxations: { problem: Assignment; columnOf: Int32Array; half: number }[] = hasHalves
    ? [MORNING, AFTERNOON].map((half) => {
        const problem = matchingProblem(model, seats, (1 << WHOLE) | (1 << half))
        return { problem, columnOf: largestMatching(problem).columnOf, half }
      })
    : [{ problem: whole, columnOf, half: WHOLE }]
  const prefixBound: number[] = []
  const covers: LevelOne['covers'] = []
  for (let k = 0; k < model.classes.length; k++) {
    let best: { units: number[]; rows: number[]; half: number } | null = null
    for (const { problem, columnOf: match, half } of relaxations) {
      const cover = coverOf(problem, match, k)
      if (!best || cover.units.length + cover.rows.length < best.units.length + best.rows.length)
        best = { ...cover, half }
    }
    let locked = 0
    for (let j = 0; j <= k; j++) locked += model.lockedFilled[j]!
    prefixBound.push(locked + best!.units.length + best!.rows.length)
    covers.push({ units: best!.units, seats: best!.rows.map((r) => seats[r]!), half: best!.half })
  }
  return { mode, filled, wholeUnit, morningUnit, afternoonUnit, prefixBound, covers }
}

/** Adds seats shared by two half-day people, in class order. For an unfilled seat every seat that an alternating
 *  chain of whole-day people could empty instead is tried; the first whose morning and afternoon can both be
 *  covered (by chains among the half-day people) becomes shared. */
function shareSeats(
  model: Model,
  seats: Int32Array,
  mode: Uint8Array,
  wholeUnit: Int32Array,
  morningUnit: Int32Array,
  afternoonUnit: Int32Array,
): void {
  const seatOfWhole = new Int32Array(model.unitCount).fill(-1)
  const halfSeat = [new Int32Array(0), new Int32Array(model.unitCount), new Int32Array(model.unitCount)]
  halfSeat[1]!.fill(-1)
  halfSeat[2]!.fill(-1)
  for (const s of seats) if (wholeUnit[s]! >= 0) seatOfWhole[wholeUnit[s]!] = s
  const unitsOf = [wholeUnit, morningUnit, afternoonUnit]
  /** A unit that may work either half can be used in one only. */
  const usedElsewhere = (unit: number, half: number) =>
    halfSeat[3 - half]![unit]! >= 0 || seatOfWhole[unit]! >= 0

  /** Finds a chain that gives `seat` a unit for the half; returns it as [seat, unit] pairs, or null. */
  const chain = (seat: number, half: number, taken: Set<number>): [number, number][] | null => {
    const via = new Map<number, number>()
    const queue = [seat]
    for (let head = 0; head < queue.length; head++) {
      const s = queue[head]!
      const g = model.seatGroup[s]!
      for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
        const unit = model.arcUnit[a]!
        if (model.arcKind[a] !== half || via.has(unit) || taken.has(unit) || usedElsewhere(unit, half))
          continue
        via.set(unit, s)
        const holder = halfSeat[half]![unit]!
        if (holder >= 0) {
          queue.push(holder)
          continue
        }
        const steps: [number, number][] = []
        for (let u = unit; ; ) {
          const at = via.get(u)!
          steps.push([at, u])
          if (at === seat) return steps
          u = unitsOf[half]![at]!
        }
      }
    }
    return null
  }
  const apply = (steps: [number, number][], half: number) => {
    for (const [s, u] of steps) {
      unitsOf[half]![s] = u
      halfSeat[half]![u] = s
    }
  }
  const share = (seat: number): boolean => {
    if (model.groupShift[model.seatGroup[seat]!] !== WHOLE) return false
    const morning = chain(seat, MORNING, new Set())
    if (!morning) return false
    const afternoon = chain(seat, AFTERNOON, new Set(morning.map(([, u]) => u)))
    if (!afternoon) return false
    apply(morning, MORNING)
    apply(afternoon, AFTERNOON)
    mode[seat] = 2
    return true
  }
  const order = [...seats].sort(
    (a, b) => model.groupClass[model.seatGroup[a]!]! - model.groupClass[model.seatGroup[b]!]! || a - b,
  )
  for (const start of order) {
    if (mode[start] !== 0) continue
    const via = new Map<number, number>()
    const queue = [start]
    const seen = new Set(queue)
    for (let head = 0; head < queue.length; head++) {
      const s = queue[head]!
      if (share(s)) {
        // Give s's whole-day person to the seat before it on the chain, and so on back to the start.
        let freed = s
        let unit = s === start ? -1 : wholeUnit[s]!
        if (s !== start) wholeUnit[s] = -1
        while (freed !== start) {
          const at = via.get(unit)!
          const next = wholeUnit[at]!
          wholeUnit[at] = unit
          seatOfWhole[unit] = at
          mode[at] = 1
          freed = at
          unit = next
        }
        break
      }
      const g = model.seatGroup[s]!
      for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
        const unit = model.arcUnit[a]!
        if (model.arcKind[a] !== WHOLE || via.has(unit)) continue
        const holder = seatOfWhole[unit]!
        if (holder < 0 || seen.has(holder)) continue
        via.set(unit, s)
        seen.add(holder)
        queue.push(holder)
      }
    }
  }
}
