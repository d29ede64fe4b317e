/** Level 1: the most seats by priority class, and covers that prove it.
 *
 *  Without half-day people a seat takes one unit: a matching with priorities, exact (see assign.ts). Where a
 *  morning and an afternoon person may share a seat, deciding which seats are shared is as hard as
 *  three-dimensional matching, so: whole-day people are matched first, then shared seats are added along exchange
 *  chains, and two relaxations (only the mornings must be covered; only the afternoons) bound what is possible.
 *  Where value and bound agree, which is the rule, level 1 is closed all the same; small counties are closed by search
 *  where they don't (share-seats.ts).
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
  /** For each class prefix: bound on the filled seats (locked ones included) and the cover that proves it. */
  prefixBound: number[]
  covers: { units: number[]; seats: number[]; half: number }[]
  /** The bounds rest on a search over every way to share seats, not on the covers. */
  closedBySearch: boolean
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
export function coverOf(problem: Assignment, columnOf: Int32Array, last: number) {
  const { arcs, rowList, rowClass } = problem
  const rowOf = new Int32Array(problem.columnCount).fill(-1)
  for (let r = 0; r < columnOf.length; r++)
    if (columnOf[r]! >= 0 && rowClass[r]! <= last) rowOf[columnOf[r]!] = r
  const reached = new Uint8Array(problem.columnCount)
  const rowReached = new Uint8Array(columnOf.length)
  const scanned = new Uint8Array(arcs.start.length)
  const stack: number[] = []
  for (let r = 0; r < columnOf.length; r++)
    if (rowClass[r]! <= last && columnOf[r] === -1) {
      rowReached[r] = 1
      stack.push(r)
    }
  while (stack.length > 0) {
    const row = stack.pop()!
    // Rows of one list reach the same.
    if (scanned[rowList[row]!]) continue
    scanned[rowList[row]!] = 1
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
  for (let r = 0; r < seats.length; r++)
    if (columnOf[r]! >= 0) {
      wholeUnit[seats[r]!] = columnOf[r]!
      mode[seats[r]!] = 1
    }
  if (hasHalves) shareSeats(model, seats, mode, wholeUnit)

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
  return { mode, filled, prefixBound, covers, closedBySearch: false }
}

/** Half-day people in halves of seats: a matching that grows one half at a time. Who may take either half moves from one
 *  to the other where a chain asks for it. */
class HalfDays {
  /** Slot = 2 × seat + (0 morning, 1 afternoon). */
  readonly unitIn: Int32Array
  private readonly slotOf: Int32Array
  private readonly seenAt: Int32Array
  private readonly scannedAt: Int32Array
  private readonly via: Int32Array
  private stamp = 0

  constructor(
    private readonly model: Model,
    /** Units that take a seat alone. */
    private readonly taken: Int32Array,
  ) {
    this.unitIn = new Int32Array(2 * model.seatCount).fill(-1)
    this.slotOf = new Int32Array(model.unitCount).fill(-1)
    this.seenAt = new Int32Array(model.unitCount)
    this.scannedAt = new Int32Array(2 * model.groupCount)
    this.via = new Int32Array(model.unitCount)
  }

  /** Covers both halves of a seat, or changes nothing that counts. Where it fails it would fail for good: more seats
   *  ask for the same people later (the sets of halves that can be covered are those of a matroid). */
  cover(seat: number): boolean {
    if (!this.augment(2 * seat)) return false
    if (this.augment(2 * seat + 1)) return true
    this.slotOf[this.unitIn[2 * seat]!] = -1
    this.unitIn[2 * seat] = -1
    return false
  }

  /** Breadth first over slots; those of one group and half share their arcs and are looked at once. */
  private augment(start: number): boolean {
    const { model, unitIn, slotOf, seenAt, scannedAt, via } = this
    const stamp = ++this.stamp
    const queue = [start]
    for (let head = 0; head < queue.length; head++) {
      const slot = queue[head]!
      const group = model.seatGroup[slot >> 1]!
      const half = (slot & 1) === 0 ? MORNING : AFTERNOON
      if (scannedAt[2 * group + (slot & 1)] === stamp) continue
      scannedAt[2 * group + (slot & 1)] = stamp
      for (let a = model.arcStart[group]!; a < model.arcStart[group + 1]!; a++) {
        const unit = model.arcUnit[a]!
        if (model.arcKind[a] !== half || seenAt[unit] === stamp || this.taken[unit]! >= 0) continue
        seenAt[unit] = stamp
        via[unit] = slot
        if (slotOf[unit]! >= 0) {
          queue.push(slotOf[unit]!)
          continue
        }
        for (let u = unit; ; ) {
          const at = via[u]!
          const before = unitIn[at]!
          unitIn[at] = u
          slotOf[u] = at
          if (at === start) return true
          u = before
        }
      }
    }
    return false
  }
}

/** Adds seats shared by two half-day people, in class order. For an unfilled seat every seat that an alternating chain of
 *  whole-day people could empty instead is tried; the first whose morning and afternoon can both be covered becomes
 *  shared. Seats that a vain search reached need no second look: whole-day people there only change among themselves.
 *  O(arcs × shared seats) at worst, O(arcs) for all vain searches together. */
function shareSeats(model: Model, seats: Int32Array, mode: Uint8Array, wholeUnit: Int32Array): void {
  const seatOfWhole = new Int32Array(model.unitCount).fill(-1)
  for (const s of seats) if (wholeUnit[s]! >= 0) seatOfWhole[wholeUnit[s]!] = s
  const halfDays = new HalfDays(model, seatOfWhole)
  const cannotShare = Uint8Array.from(model.groupShift, (shift) => Number(shift !== WHOLE))
  const dead = new Uint8Array(model.groupCount)
  const scannedAt = new Int32Array(model.groupCount)
  const seenAt = new Int32Array(model.seatCount)
  const via = new Int32Array(model.unitCount)
  let stamp = 0
  const share = (seat: number): boolean => {
    const group = model.seatGroup[seat]!
    if (cannotShare[group]) return false
    if (halfDays.cover(seat)) return true
    cannotShare[group] = 1
    return false
  }
  const order = [...seats].sort(
    (a, b) => model.groupClass[model.seatGroup[a]!]! - model.groupClass[model.seatGroup[b]!]! || a - b,
  )
  for (const start of order) {
    if (mode[start] !== 0 || dead[model.seatGroup[start]!]) continue
    stamp++
    const queue = [start]
    seenAt[start] = stamp
    let found = share(start) ? start : -1
    for (let head = 0; head < queue.length && found < 0; head++) {
      const s = queue[head]!
      const g = model.seatGroup[s]!
      if (scannedAt[g] === stamp) continue
      scannedAt[g] = stamp
      for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]! && found < 0; a++) {
        const unit = model.arcUnit[a]!
        if (model.arcKind[a] !== WHOLE) continue
        const holder = seatOfWhole[unit]!
        if (holder < 0 || seenAt[holder] === stamp || dead[model.seatGroup[holder]!]) continue
        via[unit] = s
        seenAt[holder] = stamp
        queue.push(holder)
        if (share(holder)) found = holder
      }
    }
    if (found < 0) {
      for (const s of queue) dead[model.seatGroup[s]!] = 1
      continue
    }
    mode[found] = 2
    // Give its whole-day person to the seat before it on the chain, and so on back to the start.
    let freed = found
    let unit = found === start ? -1 : wholeUnit[found]!
    if (found !== start) wholeUnit[found] = -1
    while (freed !== start) {
      const at = via[unit]!
      const next = wholeUnit[at]!
      wholeUnit[at] = unit
      seatOfWhole[unit] = at
      mode[at] = 1
      freed = at
      unit = next
    }
  }
}
