/** The generalised assignment problem: every job to one agent, each agent within its capacity, least or greatest total.
 *
 *  Method: prices on 'every job once' bound the value (gap-prices.ts); annealing over the pairs that they leave likely gives
 *  a first solution (gap-anneal.ts); a search below a cutoff that lies just above the bound (gap-search.ts) either finds
 *  the optimum or proves that nothing is below the cutoff, which then rises; where that takes long, dives between bound
 *  and best better the solution. Whole weights and capacities. Limits count cells of knapsack tables, never time: the same
 *  result on every machine.
 *  References: Ross & Soland 1975; Fisher, Jaikumar & Van Wassenhove 1986; Posta, Ferland & Michelon 2012. */
import { seededRandom } from '@/lib/kernel/random'
import { anneal } from './gap-anneal'
import { climbPrices, freshPrices, type GapTables, Pricing } from './gap-prices'
import { GapSearcher, rootNode } from './gap-search'

export interface GeneralisedAssignment {
  sense: 'min' | 'max'
  /** [agent][job]. */
  values: number[][]
  weights: number[][]
  capacities: number[]
}

export interface GeneralisedResult {
  /** `unknown`: neither a solution nor a proof that there is none within the limit. */
  status: 'optimal' | 'within-gap' | 'infeasible' | 'unknown'
  value: number | null
  /** Proven: no assignment is below (min) or above (max) it. */
  bound: number | null
  /** Agent of each job. */
  assignment: number[] | null
}

/** @throws RangeError for ragged tables, values that aren't finite, or weights and capacities that aren't whole and ≥ 0. */
export function solveGeneralisedAssignment(
  problem: GeneralisedAssignment,
  limits: { work: number } = { work: 6e9 },
): GeneralisedResult {
  assertSound(problem)
  const jobs = problem.values[0]?.length ?? 0
  if (jobs === 0) return { status: 'optimal', value: 0, bound: 0, assignment: [] }
  const { tables, scale } = tablesOf(problem)
  const run = new Run(tables)
  run.solve(limits.work)
  const sign = problem.sense === 'min' ? 1 : -1
  if (!run.best && run.closed) return { status: 'infeasible', value: null, bound: null, assignment: null }
  // Adding zero turns −0 into 0.
  const lower = (sign * run.lower) / scale + 0
  if (!run.best) return { status: 'unknown', value: null, bound: lower, assignment: null }
  const assignment = [...run.best]
  const value = assignment.reduce((sum, i, j) => sum + problem.values[i]![j]!, 0)
  const bound = run.closed ? value : lower
  return { status: run.closed ? 'optimal' : 'within-gap', value, bound, assignment }
}

function assertSound({ values, weights, capacities }: GeneralisedAssignment): void {
  const agents = capacities.length
  if (values.length !== agents || weights.length !== agents)
    throw new RangeError('values, weights and capacities must have one entry an agent')
  const jobs = values[0]?.length ?? 0
  for (let i = 0; i < agents; i++) {
    if (values[i]!.length !== jobs || weights[i]!.length !== jobs)
      throw new RangeError(`agent ${i}: one value and one weight for each of ${jobs} jobs are needed`)
    if (!values[i]!.every(Number.isFinite)) throw new RangeError(`agent ${i}: values must be finite numbers`)
    if (![capacities[i]!, ...weights[i]!].every((w) => Number.isSafeInteger(w) && w >= 0))
      throw new RangeError(`agent ${i}: weights and the capacity must be whole numbers from 0`)
  }
}

const MOST_DECIMALS = 6
const MOST_WEIGHT = 2 ** 30
/** Work of one dive: beyond it, more dives are worth more than longer ones. */
const MOST_OF_A_DIVE = 2.5e8

/** The problem as least cost, decimals turned into whole numbers where they are few. */
function tablesOf({ sense, values, weights, capacities }: GeneralisedAssignment) {
  const sign = sense === 'min' ? 1 : -1
  const flat = values.flat()
  const most = flat.reduce((a, v) => Math.max(a, Math.abs(v)), 0)
  const isWhole = (scale: number) =>
    most * scale * values[0]!.length < 1e13 &&
    flat.every((v) => Math.abs(v * scale - Math.round(v * scale)) < 1e-6)
  const scale = Array.from({ length: MOST_DECIMALS + 1 }, (_, d) => 10 ** d).find(isWhole)
  const cost = Float64Array.from(flat, (v) => sign * (scale === undefined ? v : Math.round(v * scale)))
  const capacity = Int32Array.from(capacities, (c, i) =>
    Math.min(
      c,
      weights[i]!.reduce((a, w) => a + w, 0),
      MOST_WEIGHT,
    ),
  )
  const weight = Int32Array.from(
    weights.flatMap((row, i) => row.map((w) => Math.min(w, capacities[i]! + 1, MOST_WEIGHT + 1))),
  )
  const tables: GapTables = {
    agents: capacities.length,
    jobs: values[0]!.length,
    cost,
    weight,
    capacity,
    whole: scale !== undefined,
  }
  return { tables, scale: scale ?? 1 }
}

/** A solve under way. */
class Run {
  readonly pricing: Pricing
  readonly searcher: GapSearcher
  readonly root
  readonly u: Float64Array
  best: Int32Array | null = null
  upper: number
  lower = Number.NEGATIVE_INFINITY
  /** The best is proven to be so; without one, that there is none. */
  closed = false
  private readonly random = seededRandom(1)

  constructor(readonly tables: GapTables) {
    this.pricing = new Pricing(tables)
    this.searcher = new GapSearcher(tables, this.pricing)
    this.root = rootNode(tables)
    this.u = new Float64Array(tables.jobs)
    // Nothing costs as much.
    this.upper = 1
    for (let j = 0; j < tables.jobs; j++) this.upper += Math.max(...this.costsOf(j))
  }

  private costsOf(j: number): number[] {
    const { agents, jobs, cost } = this.tables
    return Array.from({ length: agents }, (_, i) => cost[i * jobs + j]!)
  }

  solve(work: number): void {
    if (this.searcher.settle(this.root) < 0) {
      this.closed = true
      return
    }
    this.raise(freshPrices(this.pricing, this.root, this.u, 600))
    this.startSolution()
    this.betterPrices(work * 0.1)
    this.raiseCutoff(work * 0.1)
    this.dive(work * 0.7)
    this.raiseCutoff(work)
  }

  private raise(bound: number): void {
    const { whole } = this.tables
    this.lower = Math.max(this.lower, whole ? Math.ceil(bound - this.searcher.slack(bound)) : bound)
    if (this.best && this.lower >= this.upper - (whole ? 0 : this.searcher.slack(this.upper)))
      this.closed = true
  }

  private offer(solution: Int32Array | null): boolean {
    if (!solution) return false
    const value = this.searcher.costOf(solution)
    if (value >= this.upper) return false
    this.best = solution
    this.upper = value
    this.raise(this.lower)
    return true
  }

  private startSolution(): void {
    const likely = this.searcher.likelyAgents(this.root, this.u, 4)
    const spread = this.searcher.spread(this.root)
    const start = Int32Array.from(likely, (list) => list[0]!)
    this.offer(
      anneal(this.tables, start, {
        likely,
        moves: Math.min(3_000_000, 10_000 * this.tables.jobs),
        hot: spread,
        cold: spread / 20,
        penalty: 1,
        random: this.random,
      }),
    )
  }

  /** Prices again, now that there is a value to aim at. */
  private betterPrices(work: number): void {
    if (!this.best) return
    const { pricing, root, u } = this
    for (let last = Number.NEGATIVE_INFINITY; !this.closed && pricing.work < work; ) {
      const { value } = climbPrices(pricing, root, u, { steps: 300, target: this.upper, agility: 1 })
      this.raise(value)
      if (value < last + 0.005 * (this.upper - value)) return
      last = value
    }
  }

  /** Searches below cutoffs that rise from the bound, until one holds a solution or the work is done. Without a solution
   *  any is looked for. */
  private raiseCutoff(work: number): void {
    const { pricing, searcher } = this
    const part = (this.upper - this.lower) / 200
    const step = this.tables.whole ? Math.max(1, Math.ceil(part)) : part
    let steps = 1
    let last = 0
    while (!this.closed && pricing.work < work) {
      const cutoff = this.best ? Math.min(this.upper, this.lower + steps * step) : this.upper
      const before = pricing.work
      const { found, complete } = searcher.search(this.root, this.u, cutoff, work)
      this.offer(found)
      if (!complete) return
      if (!this.best) this.closed = true
      this.raise(found ? this.upper : cutoff)
      // As far as a quarter of what is left should be enough for, by the growth of the last steps.
      const took = pricing.work - before
      const growth = last > 0 ? Math.min(10, Math.max(1.01, took / last) ** (1 / steps)) : 3
      last = took
      steps = Math.max(1, Math.floor(Math.log((work - pricing.work) / 4 / took) / Math.log(growth)))
    }
  }

  /** Dives for solutions below cutoffs between the bound and the best: halfway at first, nearer to the best while nothing is
   *  found. Prices are shaken a little, so that no dive is like another. */
  private dive(work: number): void {
    const { pricing, searcher, random } = this
    const share = Math.min((work - pricing.work) / 12, MOST_OF_A_DIVE)
    const shake = searcher.spread(this.root) / 2
    for (let tries = 0, vain = 0; !this.closed && pricing.work < work; tries++) {
      const below = (this.upper - this.lower) / 2 ** (1 + (vain % 3))
      const cutoff = this.best ? this.upper - (this.tables.whole ? Math.floor(below) : below) : this.upper
      const u = this.u.map((price) => price + (tries === 0 ? 0 : shake * (random.next() - 0.5)))
      const limit = Math.min(work, pricing.work + share)
      const { found } = searcher.search(this.root, u, cutoff, limit, { oneIn: [10, 6, 14][tries % 3]! })
      vain = this.offer(found) ? 0 : vain + 1
    }
  }
}
