/** The fewest trainings that fill the most seats by priority.
 *
 *  Class after class, in order of priority: how many of its seats can be filled is the largest matching's (assign.ts); what it
 *  takes is a least-cost assignment in which an empty seat is a row in the class's spare column. That column's price
 *  is what one more filled seat may cost: raised by one training at a time, it leaves exactly the rows out that would cost more,
 *  so the number of trainings as a function of seats filled is known at its corners, and between them it is a straight
 *  line. So the number of seats that a limit allows follows without trying. Exact for one date: most seats class by class, fewest
 *  trainings for so many, then least cost. Reference: parametric minimum-cost flow, Ahuja, Magnanti & Orlin 1993, ch. 10
 *  (from memory). */
import { Assignment, largestMatching } from './assign'
import { WHOLE } from './eligibility'
import { freeSeatRows } from './level-one'
import type { TrainingArcs, TrainingModel } from './training-model'

export interface SeatsPlan {
  /** Free seats, and the unit of each in the plan (−1: none). */
  seats: Int32Array
  unitOf: Int32Array
  /** Class of each of these seats. */
  classOf: Int32Array
  /** Indices into `seats` of some that stay empty with everybody trained, as many as do. */
  beyond: number[]
}

export function planSeats(trained: TrainingModel, arcs: TrainingArcs, limit: number): SeatsPlan {
  const { model } = trained
  const seats = freeSeatRows(model)
  const problem = new Assignment(
    arcs,
    model.unitCount,
    Int32Array.from(seats, (s) => model.seatGroup[s]!),
    new Uint8Array(seats.length).fill(1 << WHOLE),
    Int32Array.from(seats, (s) => model.groupClass[model.seatGroup[s]!]!),
    new Uint8Array(seats.length).fill(7),
    new Int32Array(seats.length),
    model.unitParty,
    new Int32Array(model.unitCount),
    model.unitLocked.slice(),
    model.classes.length,
  )
  const most = largestMatching(problem)
  new Filling(trained, problem, arcs.unit, limit, most.deficit).run()
  const unitOf = problem.columnOf.map((c) => (c < model.unitCount ? c : -1))
  return {
    seats,
    unitOf,
    classOf: problem.rowClass,
    beyond: [...most.columnOf.keys()].filter((r) => most.columnOf[r]! < 0),
  }
}

class Filling {
  /** The limit left out seats of an earlier class. */
  private cut = false

  constructor(
    private readonly trained: TrainingModel,
    private readonly problem: Assignment,
    private readonly unit: number,
    private readonly limit: number,
    private readonly deficit: Int32Array,
  ) {}

  run(): void {
    const { problem, limit } = this
    for (let k = 0; k < this.deficit.length; k++) {
      const rows = [...problem.rowClass.keys()].filter((r) => problem.rowClass[r] === k)
      const all = !Number.isFinite(limit) && this.deficit[k] === 0
      if (!all) problem.spareCapacity[k] = problem.rowCount
      if (!all) this.price(k, this.unit / 2)
      for (const r of rows) this.insert(r)
      if (!all) this.leaveOut(k)
    }
  }

  private insert(row: number): void {
    if (!this.problem.insert(row)) throw new Error('Broken invariant: a row finds a column or stays out')
  }

  private price(k: number, price: number): void {
    this.problem.columnPrice[this.problem.spare + k] = -price
  }

  /** Rows that stay out are tried again at a higher price. */
  private raise(k: number, price: number): void {
    const rows = [...this.problem.rowsInSpare(k)]
    for (const r of rows) this.problem.remove(r)
    this.price(k, price)
    for (const r of rows) this.insert(r)
  }

  private trainings(): number {
    const { problem, trained } = this
    let n = 0
    problem.columnOf.forEach((c, r) => {
      if (c >= 0 && c < problem.columnCount && trained.trainingOf(problem.rowList[r]!, c) >= 0) n++
    })
    return n
  }

  /** Every row of the class is in; those in the spare column become as few as can be. */
  private leaveOut(k: number): void {
    const { problem, unit, limit } = this
    const out = () => problem.rowsInSpare(k).length
    let wanted = out()
    const least = this.leastOut(k)
    for (let each = 1; wanted > least; each++) {
      const before = problem.save()
      this.raise(k, (each + 0.5) * unit)
      wanted = out()
      const over = this.trainings() - limit
      if (over <= 0) continue
      // Of the seats filled at this price each gives so many trainings back.
      wanted += Math.ceil(over / each)
      problem.restore(before)
      this.nearTo(k, wanted, (each - 0.5) * unit, (each + 0.5) * unit)
      break
    }
    this.cut ||= wanted > this.deficit[k]!
    problem.spareCapacity[k] = wanted
    const rows = problem.rowsInSpare(k).slice(wanted)
    for (const r of rows) problem.remove(r)
    for (const r of rows) this.insert(r)
  }

  /** So many rows of the class stay out whatever is trained; once the limit left out seats of an earlier class, whatever is
   *  trained with what is left of the limit. */
  private leastOut(k: number): number {
    const { problem, limit } = this
    if (!this.cut) return this.deficit[k]!
    const before = problem.save()
    this.raise(k, (limit - this.trainings() + 0.5) * this.unit)
    const least = problem.rowsInSpare(k).length
    problem.restore(before)
    return least
  }

  /** Raises the price, between two at which more and fewer rows stay out, until hardly more than wanted do. */
  private nearTo(k: number, wanted: number, from: number, to: number): void {
    const { problem } = this
    const enough = wanted + Math.max(2, wanted >> 7)
    let [low, high] = [from, to]
    while (problem.rowsInSpare(k).length > enough && high - low > 1) {
      const before = problem.save()
      const price = Math.floor((low + high) / 2)
      this.raise(k, price)
      if (problem.rowsInSpare(k).length < wanted) {
        problem.restore(before)
        high = price
      } else low = price
    }
  }
}
