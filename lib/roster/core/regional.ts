/** Regions solved by linear and mixed-integer programming, the rest of the county held as it is.
 *
 *  The linear relaxation over the nearest arcs of each group gives prices (duals) of people, minimums and violations:
 *  the Lagrangian bound (bound.ts) starts from them. Arcs whose reduced cost is small, and those the relaxation or the
 *  roster uses, then make a small mixed-integer model whose solution replaces the region's part of the roster when
 *  it is better. Limits count nodes, never time. A solver that fails (out of memory) changes nothing.
 *  References: Dantzig & Wolfe 1960 (prices); Danna, Rothberg & Le Pape 2005, Math. Prog. 102:71 (neighbourhoods from
 *  relaxations). */
import type { MipModel, MipSolver } from './mip-model'
import { buildRosterMip, type RosterMip } from './mip-roster'
import { writeMipSolution } from './mip-solution'
import type { Model } from './model'
import type { RosterState } from './state'

export interface RegionTask {
  crews: readonly number[]
  state: RosterState
  filled: readonly number[]
  violations: number
  /** Not 0 for the arcs of the relaxation (see `nearArcs`). */
  near: Uint8Array
  /** Reduced cost, as a share of the relaxation's mean cost a seat, up to which an arc stays in the whole model. */
  slack: number
  /** Nodes of the search; 0: prices only. */
  nodes: number
  /** Where value and bound are this close, as a share, the search ends. */
  gap: number
}

export interface RegionAnswer {
  prices: RegionPrices
  /** The relaxation's value, the constant included. */
  relaxed: number
  improved: boolean
}

export interface RegionPrices {
  units: [unit: number, price: number][]
  minimums: [minimum: number, crew: number, price: number][]
  classes: [class_: number, price: number][]
  violation: number
}

/** Solves one region; writes a better solution into the task's state. Null when the relaxation wasn't solved. */
export function solveRegion(model: Model, mip: MipSolver, task: RegionTask): RegionAnswer | null {
  const { state, crews } = task
  const built = buildRosterMip(model, {
    crews,
    state,
    filled: task.filled,
    violations: task.violations,
    keep: (arc) => task.near[arc]! > 0,
  })
  if (built.arcs.length === 0) return null
  const relaxed = relax(mip, built, task.near, Math.max(SETTLED, task.gap / 10))
  if (!relaxed) return null
  const { reduced } = relaxed
  const answer: RegionAnswer = {
    prices: pricesOf(built, relaxed.rowDuals),
    relaxed: relaxed.objective + built.constant,
    improved: false,
  }
  if (task.nodes === 0) return answer
  const seats = relaxed.values.reduce((sum, x, i) => (i < built.arcs.length ? sum + x : sum), 0)
  const slack = (task.slack * relaxed.objective) / Math.max(1, seats)
  for (let i = 0; i < built.arcs.length; i++)
    if (reduced[i]! > slack && relaxed.values[i]! < 1e-6 && built.start[i]! < 0.5) built.mip.upper[i] = 0
  const found = mip(built.mip, { nodes: task.nodes, start: built.start, gap: task.gap })
  const before = built.start.reduce((sum, x, i) => sum + x * built.mip.cost[i]!, 0)
  if (found.values && found.objective < before - 0.5) {
    writeMipSolution(model, built, found.values, crews, state)
    answer.improved = true
  }
  return answer
}

/** Rounds of pricing, after which a relaxation is taken as it is: its prices are sound all the same. */
const ROUNDS = 8
/** So is one that a round lowered by less than this share, or a tenth of the gap that the search may leave. */
const SETTLED = 1e-4

/** The relaxation over the near arcs, by columns: the nearest and the roster's own first, then those that the duals ask
 *  for, until they ask for no more or hardly lower it. */
export function relax(mip: MipSolver, built: RosterMip, near: Uint8Array, enough: number) {
  const upper = built.mip.upper.map((most, i) =>
    i < built.arcs.length && near[built.arcs[i]!] !== NEAREST && built.start[i]! < 0.5 ? 0 : most,
  )
  let before = Number.POSITIVE_INFINITY
  for (let round = 1; ; round++) {
    const { values, rowDuals, objective } = mip(relaxationOf(built, upper), { nodes: 1 })
    if (!values || !rowDuals) return null
    const reduced = reducedCosts(built.mip, rowDuals)
    let added = 0
    for (let i = 0; i < built.arcs.length; i++)
      if (upper[i] === 0 && reduced[i]! < -0.5 && built.mip.upper[i]! > 0) {
        upper[i] = built.mip.upper[i]!
        added++
      }
    const settled = before - objective < enough * objective
    if (added === 0 || settled || round === ROUNDS) return { values, rowDuals, objective, reduced }
    before = objective
  }
}

/** Fewer violations in a region, whatever the metres (of the nearest arcs). True when some were mended. */
export function mendRegion(
  model: Model,
  mip: MipSolver,
  task: Pick<RegionTask, 'crews' | 'state' | 'filled' | 'near' | 'nodes'>,
): boolean {
  const built = buildRosterMip(model, {
    crews: task.crews,
    state: task.state,
    filled: task.filled,
    violations: 0,
    objective: 'violations',
    keep: (arc) => task.near[arc]! > 0,
  })
  const before = built.start.reduce((sum, x, i) => sum + x * built.mip.cost[i]!, 0)
  if (built.arcs.length === 0 || before === 0) return false
  const found = mip(built.mip, { nodes: task.nodes, start: built.start })
  if (!found.values || found.objective > before - 0.5) return false
  writeMipSolution(model, built, found.values, task.crews, task.state)
  return true
}

/** Marks of arcs: one that may be priced in, and one that a relaxation starts with. */
const NEAR = 1
const NEAREST = 2

/** The nearest arcs of each group (NEAR; a sixth of them NEAREST): `count` of any, and `each` of every party and set of minimums met (a far speaker of a
 *  language may be dearer than a near stranger and needed all the same). O(arcs). */
export function nearArcs(model: Model, unitBits: Int32Array, count: number, each: number): Uint8Array {
  const near = new Uint8Array(model.arcUnit.length)
  const seen = new Map<number, number>()
  for (let g = 0; g < model.groupCount; g++) {
    seen.clear()
    let own = 0
    for (const m of model.crews[model.groupCrew[g]!]!.minimums) if (m < 31) own |= 1 << m
    const seats = model.groupSeats[g]!.length
    for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
      const unit = model.arcUnit[a]!
      const type = (unitBits[unit]! & own) * 16 + model.unitParty[unit]! * 4 + model.arcKind[a]!
      const n = (seen.get(type) ?? 0) + 1
      seen.set(type, n)
      const at = a - model.arcStart[g]!
      if (6 * at < count * seats || 6 * n <= each * seats) near[a] = NEAREST
      else if (at < count * seats || n <= each * seats) near[a] = NEAR
    }
  }
  return near
}

/** Marks each person's own nearest groups as well: where people are short they, not the seats, are what runs out, and
 *  somebody who lives far out is near to no group. `each` arcs of a person in each class of seats. O(arcs × each). */
export function addNearSeats(model: Model, near: Uint8Array, each: number): void {
  const classes = model.classes.length
  const count = new Uint8Array(model.unitCount * classes)
  const nearest = new Int32Array(model.unitCount * classes * each)
  for (let g = 0; g < model.groupCount; g++)
    for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
      const list = model.arcUnit[a]! * classes + model.groupClass[g]!
      const n = count[list]!
      const cost = model.arcCost[a]!
      let i = list * each + n
      if (n < each) count[list] = n + 1
      else if (cost >= model.arcCost[nearest[--i]!]!) continue
      for (; i > list * each && model.arcCost[nearest[i - 1]!]! > cost; i--) nearest[i] = nearest[i - 1]!
      nearest[i] = a
    }
  for (let list = 0; list < count.length; list++)
    for (let i = 0; i < count[list]!; i++) {
      const a = nearest[list * each + i]!
      if (6 * i < each) near[a] = NEAREST
      else if (near[a] === 0) near[a] = NEAR
    }
}

/** The linear relaxation. Arcs have no upper side of their own here: that a person sits once is priced by their row
 *  alone. Pairs are left out, as in the bound that its prices are for: kept apart from all places but the partner's, a
 *  person would look free of charge, and every crew of the bound would take them. (In the model itself they need one: HiGHS 1.15 trips over whole columns without.) */
export const relaxationOf = (built: RosterMip, upper: readonly number[]): MipModel =>
  ({
    ...built.mip,
    upper: upper.map((most, i) => (i < built.arcs.length && most > 0 ? Number.POSITIVE_INFINITY : most)),
    rows: built.mip.rows.map((row, i) =>
      i >= built.pairRows[0] && i < built.pairRows[1] ? { ...row, upper: Number.POSITIVE_INFINITY } : row,
    ),
    whole: built.mip.whole.map(() => false),
  }) as MipModel

export function reducedCosts(mip: MipModel, duals: Float64Array): Float64Array {
  const reduced = Float64Array.from(mip.cost)
  mip.rows.forEach((row, i) => {
    const y = duals[i]!
    if (y !== 0)
      for (let j = 0; j < row.columns.length; j++)
        reduced[row.columns[j]!] = reduced[row.columns[j]!]! - y * row.factors[j]!
  })
  return reduced
}

function pricesOf(built: RosterMip, duals: Float64Array): RegionPrices {
  return {
    units: built.unitRows.map(([row, unit]) => [unit, Math.max(0, -duals[row]!)]),
    minimums: built.minimumRows.map(([row, m, crew]) => [m, crew, Math.max(0, -duals[row]!)]),
    classes: built.classRows.map(([row, k]) => [k, duals[row]!]),
    violation: built.budgetRow < 0 ? 0 : Math.max(0, -duals[built.budgetRow]!),
  }
}
