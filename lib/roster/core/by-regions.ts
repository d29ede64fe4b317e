/** Levels 2 and 3 with a mixed-integer solver: region by region for the roster, then prices for the bound, and for
 *  counties small enough the whole model to its optimum. */
import type { LagrangianBound } from './bound'
import type { Prices } from './bound-spec'
import type { MipSolver } from './mip-model'
import { buildRosterMip, type RosterMip } from './mip-roster'
import { writeMipSolution } from './mip-solution'
import type { Model } from './model'
import { addNearSeats, mendRegion, nearArcs, type RegionPrices, relax, solveRegion } from './regional'
import { regionsOf } from './regions'
import type { RosterState } from './state'

export interface RegionalRun {
  model: Model
  mip: MipSolver
  /** The best roster so far; bettered in place. */
  state: RosterState
  filled: readonly number[]
  workLimit: number
  aborted(): boolean
  /** Told after each region, with the share done. */
  onProgress(share: number): void
}

/** Arcs of a group in a relaxation, and of each kind of person. */
const NEAR = 36
const EACH = 10
/** Arcs of a person in each class of seats, where people are short. */
const OWN = 12
/** Reduced cost, as a share of a seat's mean cost, up to which an arc is searched; in a county that is searched as one. */
const SLACK = 0.05
const ONE_SLACK = 0.15

/** How finely a county is worked on: crews of a region that is mended (in each round), searched (in each pass; a share
 *  says where the halving cuts) and priced; how many arcs mending (`reach`) and
 *  relaxations (`sight`) look at, in units of NEAR and EACH; how far apart
 *  value and bound of a search may stay, and after how many nodes it ends. Linear relaxations stay small far longer than whole numbers do. */
interface Fineness {
  mended: readonly number[]
  reach: number
  searched: number
  shares: readonly number[]
  sight: number
  priced: number
  gap: number
  nodes: number
}
const USUAL: Fineness = {
  mended: [24, 96, 96],
  reach: 2,
  searched: 40,
  shares: [0.5, 0.37, 0.61],
  sight: 1,
  priced: 320,
  gap: 1e-3,
  nodes: 30,
}
/** A county of so many crews is searched as one, and looked at further out. */
const ONE_REGION = 60
const ONE: Fineness = { ...USUAL, sight: 3 }
/** Work grows with the county; beyond this many crews it is kept in bounds by smaller regions and one pass. */
const LARGE_FROM = 1500
const LARGE: Fineness = {
  mended: [12, 24],
  reach: 0.5,
  searched: 36,
  shares: [0.5],
  sight: 1,
  priced: 160,
  gap: 1e-2,
  nodes: 1,
}

/** Where people are short nearly everybody is in use, and whole numbers over many crews take long. */
const SHORT: Fineness = {
  mended: [12, 24],
  reach: 0.5,
  searched: 36,
  shares: [0.5, 0.37],
  sight: 0.5,
  priced: 320,
  gap: 3e-3,
  nodes: 1,
}
/** Empty seats, as a share of all, from which people count as short; a county of one region is worked on as usual. */
const SHORT_FROM = 0.01

export const isLarge = (model: Model) => model.crews.length >= LARGE_FROM
export function isShort(model: Model, filled: readonly number[]): boolean {
  const reached = filled.reduce((sum, n) => sum + n, 0)
  return model.crews.length > SHORT.searched && model.seatCount - reached > SHORT_FROM * model.seatCount
}
function finenessOf({ model, filled }: RegionalRun): Fineness {
  if (isLarge(model)) return LARGE
  if (model.crews.length <= ONE_REGION) return ONE
  return isShort(model, filled) ? SHORT : USUAL
}

/** Lowers violations around the crews that have them. */
export function mendByRegions(run: RegionalRun): void {
  const { model, state } = run
  const { mended, reach } = finenessOf(run)
  const near = nearArcs(model, state.unitBits, reach * NEAR, reach * EACH)
  let before = Number.POSITIVE_INFINITY
  for (let round = 0; round < mended.length; round++) {
    const now = state.violations()
    // A round that mended nothing is the last one.
    if (now === 0 || now >= before) return
    if (round > 0) before = now
    const regions = regionsOf(model, mended[round]!, [0.5, 0.37, 0.61][round])
    for (const crews of regions) {
      if (run.aborted()) return
      if (regionViolations(model, state, crews) === 0) continue
      mendRegion(model, run.mip, {
        crews,
        state,
        filled: run.filled,
        near,
        nodes: Math.ceil(20 * run.workLimit),
      })
    }
    if (regions.length === 1) return
  }
}

function regionViolations(model: Model, state: RosterState, crews: readonly number[]): number {
  let sum = 0
  for (const c of crews) {
    sum += state.crewViolation(c)
    if (state.hasPairs)
      for (const g of model.crews[c]!.groups)
        for (const s of model.groupSeats[g]!)
          for (const u of [state.first[s]!, state.second[s]!]) if (u >= 0) sum += state.pairViolation(u)
  }
  return sum
}

/** Less cost at the violations reached; returns prices to start the bound from, or null where no relaxation could be
 *  solved. */
export function lowerCostByRegions(run: RegionalRun, bound: LagrangianBound): Prices | null {
  const { model, state } = run
  const fine = finenessOf(run)
  const near = nearArcs(model, state.unitBits, fine.sight * NEAR, fine.sight * EACH)
  if (isShort(model, run.filled)) addNearSeats(model, near, OWN)
  const asOne = model.crews.length <= ONE_REGION
  const shares = asOne ? [0.5] : fine.shares
  const violations = state.violations()
  const nodes = Math.ceil(fine.nodes * run.workLimit)
  const parts = shares.map((share) => regionsOf(model, asOne ? ONE_REGION : fine.searched, share))
  const priced = regionsOf(model, fine.priced)
  const steps = parts.reduce((sum, p) => sum + p.length, 0) + priced.length
  let done = 0
  const solve = (crews: number[], limit: number) => {
    const answer = solveRegion(model, run.mip, {
      crews,
      state,
      filled: run.filled,
      violations,
      near,
      slack: asOne ? ONE_SLACK : SLACK,
      nodes: limit,
      gap: fine.gap,
    })
    run.onProgress(++done / steps)
    return answer
  }
  const found: RegionPrices[] = []
  for (const regions of parts)
    for (const crews of regions) {
      if (run.aborted()) return null
      const answer = solve(crews, nodes)
      // A county of one region is priced by the very same relaxation.
      if (answer && regions.length === 1) found.push(answer.prices)
    }
  // Where people are short, regions that each keep their own people agree on no price: the county's own are far better.
  if (found.length === 0 && priced.length > 1 && isShort(model, run.filled)) return bound.freshPrices()
  if (found.length === 0)
    for (const crews of priced) {
      if (run.aborted()) return null
      const answer = solve(crews, 0)
      if (!answer) return null
      found.push(answer.prices)
    }
  return gather(model, bound, found)
}

/** One set of prices from those of the regions: a unit's highest, a class's and a violation's mean. */
export function gather(model: Model, bound: LagrangianBound, parts: readonly RegionPrices[]): Prices {
  const prices = bound.freshPrices()
  const slotIndex = new Map(bound.slotKeys.map((key, i) => [key, i]))
  const classCount = new Map<number, number>()
  for (const part of parts) {
    for (const [u, price] of part.units) prices.unit[u] = Math.max(prices.unit[u]!, price)
    for (const [m, crew, price] of part.minimums) {
      const slot = slotIndex.get(`${m}|${model.crews[crew]!.key}`)
      if (slot !== undefined) prices.minimum[slot] = price
    }
    for (const [k, price] of part.classes) {
      prices.filled[k] = prices.filled[k]! + price
      classCount.set(k, (classCount.get(k) ?? 0) + 1)
    }
    prices.violation = Math.max(prices.violation, part.violation)
  }
  for (const [k, n] of classCount) prices.filled[k] = prices.filled[k]! / n
  return prices
}

/** Arcs in the whole model, and left open by its prices, up to which it is worth closing. */
const MOST_ARCS = 200_000
const MOST_OPEN = 30_000

/** The whole model to its optimum, over every arc that prices don't rule out. True when the roster (bettered in
 *  place) is then proven least at level 3, for the seats filled and violations that it has. */
export function closeWhole(run: RegionalRun): boolean {
  const { model, mip, state } = run
  if (model.arcUnit.length > MOST_ARCS || run.workLimit < 1) return false
  const whole = buildRosterMip(model, { state, filled: run.filled, violations: state.violations() })
  const relaxed = relax(mip, whole, nearArcs(model, state.unitBits, NEAR, EACH), 0)
  if (!relaxed) return false
  const { upper } = whole.mip
  const { reduced } = relaxed
  const gap = state.cost() - whole.constant - dualBound(model, whole, relaxed.rowDuals, reduced)
  let open = 0
  for (let i = 0; i < whole.arcs.length; i++) {
    if (reduced[i]! < gap || whole.start[i]! > 0.5) open++
    else upper[i] = 0
  }
  if (open > MOST_OPEN) return false
  const answer = mip(whole.mip, { nodes: Math.ceil(2000 * run.workLimit), start: whole.start })
  if (!answer.values || answer.status !== 'optimal') return false
  writeWhole(model, whole, answer.values, state)
  return true
}

/** The least violations over every arc, by the whole model. True when the roster (bettered in place) is proven least at
 *  level 2, for the seats filled that it has. */
export function closeViolations(run: RegionalRun): boolean {
  const { model, mip, state } = run
  if (model.arcUnit.length > MOST_ARCS / 3 || run.workLimit < 1) return false
  const whole = buildRosterMip(model, { state, filled: run.filled, violations: 0, objective: 'violations' })
  const answer = mip(whole.mip, { nodes: Math.ceil(50 * run.workLimit), start: whole.start })
  if (!answer.values || answer.status !== 'optimal') return false
  writeWhole(model, whole, answer.values, state)
  return true
}

const writeWhole = (model: Model, whole: RosterMip, values: Float64Array, state: RosterState) =>
  writeMipSolution(
    model,
    whole,
    values,
    model.crews.map((_, c) => c),
    state,
  )

/** Weak duality with arcs that the relaxation didn't see: each person takes at most one. */
function dualBound(model: Model, whole: RosterMip, duals: Float64Array, reduced: Float64Array): number {
  let sum = 0
  whole.mip.rows.forEach((row, i) => {
    const y = duals[i]!
    // A dual of the wrong sign for a one-sided row is rounding noise; leaving it out of `sum` would not be sound.
    if (y > 0) sum += y * row.lower
    else if (y < 0) sum += y * row.upper
  })
  const least = new Map<number, number>()
  for (let i = 0; i < reduced.length; i++) {
    if (reduced[i]! >= 0) continue
    if (i >= whole.arcs.length) sum += whole.mip.upper[i] === 0 ? 0 : reduced[i]! * whole.mip.upper[i]!
    else {
      const unit = model.arcUnit[whole.arcs[i]!]!
      least.set(unit, Math.min(least.get(unit) ?? 0, reduced[i]!))
    }
  }
  for (const x of least.values()) sum += x
  return sum
}
