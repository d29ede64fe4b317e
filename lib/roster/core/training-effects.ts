/** What each training of a plan is worth in seats: the seat that goes empty again without it, found by what chains of
 *  changes reach (each group of seats looked at once, see components.ts) instead of solving again. */
import { allFrom, Components } from './components'
import { WHOLE } from './eligibility'
import type { Training, TrainingArcs, TrainingModel } from './training-model'
import type { SeatsPlan } from './training-seats'

interface Part {
  next: readonly Part[]
  /** It leads to somebody who sits nowhere. */
  free: boolean
  /** Of the rows that it leads to one of the last class; −1: it leads to none. */
  lastRow: number
}

export class TrainingEffects {
  private readonly rowOf: Int32Array
  /** Of the arcs that need training only those of the plan count. */
  private readonly plannedArcs: number[][]
  private readonly takers: Map<number, { group: number; training: Training }[]>
  private readonly parts: Components<Part>
  private readonly emptyReach = new Map<number, ReadonlySet<Part>>()

  constructor(
    private readonly trained: TrainingModel,
    private readonly arcs: TrainingArcs,
    private readonly plan: SeatsPlan,
    private readonly allowed: ReadonlySet<Training>,
  ) {
    const { model } = trained
    this.rowOf = new Int32Array(model.unitCount).fill(-1)
    plan.unitOf.forEach((u, r) => {
      if (u >= 0) this.rowOf[u] = r
    })
    this.plannedArcs = Array.from({ length: model.groupCount }, (_, g) => {
      const list: number[] = []
      for (let a = arcs.trainedFrom[g]!; a < arcs.start[g + 1]!; a++)
        if (allowed.has(trained.trainingOf(g, arcs.column[a]!))) list.push(a)
      return list
    })
    this.takers = new Map()
    plan.unitOf.forEach((u, r) => {
      if (u >= 0 && trained.trainingOf(this.groupOf(r), u) >= 0) this.takers.set(u, [])
    })
    for (let g = 0; g < model.groupCount; g++)
      this.eachArc(g, (u, training) => this.takers.get(u)?.push({ group: g, training }))
    this.parts = this.partsOf()
  }

  private groupOf(row: number): number {
    return this.trained.model.seatGroup[this.plan.seats[row]!]!
  }

  /** Calls back with each unit that may take a seat of the group and the training that it needs (−1: none). */
  private eachArc(g: number, act: (unit: number, training: Training) => void): void {
    const { arcs, allowed, trained } = this
    const { unitLocked } = trained.model
    for (let a = arcs.start[g]!; a < arcs.trainedFrom[g]!; a++)
      if (arcs.kind[a] === WHOLE && !unitLocked[arcs.column[a]!]) act(arcs.column[a]!, -1)
    for (const a of this.plannedArcs[g]!) {
      const training = trained.trainingOf(g, arcs.column[a]!)
      if (allowed.has(training) && arcs.kind[a] === WHOLE && !unitLocked[arcs.column[a]!])
        act(arcs.column[a]!, training)
    }
  }

  /** The row that goes empty when the person in a row isn't trained for it; −1: the class has as many filled all the same,
   *  by another chain, or by one that leads from an empty seat of the class to the person. What chains reach
   *  doesn't depend on that person: who reaches them is back at the row itself. */
  lostWithout(row: number): number {
    const start = this.parts.of(this.groupOf(row))
    if (start.free || this.isReached(allFrom(start), row)) return -1
    const lost = this.later(row, start.lastRow)
    return this.isReached(this.fromEmpty(this.plan.classOf[lost]!), row) ? -1 : lost
  }

  /** Would the person of a row, without its training, still be taken by one of these parts? */
  private isReached(reached: ReadonlySet<Part>, row: number): boolean {
    const unit = this.plan.unitOf[row]!
    const without = this.trained.trainingOf(this.groupOf(row), unit)
    return this.takers
      .get(unit)!
      .some(({ group, training }) => training !== without && reached.has(this.parts.of(group)))
  }

  /** All that the empty seats of a class lead to. */
  private fromEmpty(k: number): ReadonlySet<Part> {
    const known = this.emptyReach.get(k)
    if (known) return known
    const all = new Set<Part>()
    this.plan.unitOf.forEach((u, r) => {
      if (u < 0 && this.plan.classOf[r] === k) all.add(this.parts.of(this.groupOf(r)))
    })
    for (const part of all) for (const next of part.next) all.add(next)
    this.emptyReach.set(k, all)
    return all
  }

  private later(a: number, b: number): number {
    const { classOf } = this.plan
    return a < 0 || (b >= 0 && classOf[b]! > classOf[a]!) ? b : a
  }

  /** Groups of seats that reach each other by changes of people, and what they lead to. */
  private partsOf(): Components<Part> {
    const { groupCount } = this.trained.model
    const around: ({ free: boolean; groups: number[]; lastRow: number } | undefined)[] = new Array(groupCount)
    const aroundOf = (g: number) => {
      if (around[g]) return around[g]
      const groups = new Set<number>()
      let free = false
      let lastRow = -1
      this.eachArc(g, (u) => {
        const row = this.rowOf[u]!
        if (row < 0) free = true
        else {
          groups.add(this.groupOf(row))
          lastRow = this.later(lastRow, row)
        }
      })
      around[g] = { free, groups: [...groups], lastRow }
      return around[g]
    }
    return new Components<Part>(
      groupCount,
      (g) => aroundOf(g).groups,
      (groups, next) => ({
        next,
        free: groups.some((g) => aroundOf(g).free) || next.some((part) => part.free),
        lastRow: [...groups.map(aroundOf), ...next]
          .map((part) => part.lastRow)
          .reduce((a, b) => this.later(a, b)),
      }),
    )
  }
}
