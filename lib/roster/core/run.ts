/** A solve under way: the best roster so far and the ways to better it, which the levels share. */
import { type Random, seededRandom } from '@/lib/kernel/random'
import { LagrangianBound } from './bound'
import type { BoundSpec, Prices } from './bound-spec'
import { isLarge, isShort, type RegionalRun } from './by-regions'
import { mendByChains } from './chains'
import { roundPrices } from './dual'
import { WHOLE } from './eligibility'
import { Exchanger } from './improve'
import { assignmentFor, planRows, runAssignment, writeState } from './least-cost'
import type { LevelOne } from './level-one'
import type { MipSolver } from './mip-model'
import type { Model } from './model'
import { solveOwnPattern } from './own-pattern'
import { patternRoster } from './patterns'
import type { SolveProgress } from './progress'
import type { Priced } from './result'
import { RosterState } from './state'

export interface SolveContext {
  model: Model
  seed: number
  workLimit: number
  searchNodes: number
  mip: MipSolver | null
  onProgress(progress: SolveProgress): void
  aborted(): boolean
}

/** Metres that one violation weighs while searching at a fixed number of violations. */
const STEER = 200_000
export const HARD = 50_000_000
/** Metres of a violation in prices to start from where people are short. */
export const SHORT_VIOLATION = 15_000

/** A pass of exchanges: metres at the first and the last move, moves a seat, metres of a violation (default STEER). */
export interface Pass {
  hot: number
  cold: number
  moves: number
  steer?: number
  neighbours?: number
}

/** Rounds of chains, each at prices of the roster that the one before left. */
const MOST_ROUNDS = 3

interface Best {
  state: RosterState
  violations: number
  cost: number
}

export class Run {
  best!: Best
  readonly bound: LagrangianBound
  readonly model: Model
  readonly random: Random
  readonly scratch: RosterState
  startPrices: Prices | null = null
  /** Metres of the least-cost roster, which knows no rule. */
  leastCostValue = 0
  /** Prices of people and minimums where both are scarce. */
  scarcePrices: Prices | null = null
  share = 0
  work = 0
  filledFixed: number[] = []
  deficits = new Int32Array(0)
  covers: LevelOne['covers'] = []
  level1Bound: { prices: (Prices | null)[]; prefix: number[] } | null = null
  leastCostIsFinal = false
  searched = false
  costClosed = false
  violationsClosed = false
  searchMovedSeats = false
  searchMovedViolations = false
  mode: Uint8Array = new Uint8Array(0)

  constructor(readonly context: SolveContext) {
    this.model = context.model
    this.random = seededRandom(context.seed)
    this.scratch = new RosterState(this.model)
    this.bound = new LagrangianBound(this.model, this.scratch.unitBits)
  }

  report(stage: SolveProgress['stage'], share: number): void {
    this.share = Math.max(this.share, share)
    this.context.onProgress({
      stage,
      share: this.share,
      filled: this.best ? this.best.state.filledByClass().reduce((a, b) => a + b, 0) : null,
      violations: this.best?.violations ?? null,
      cost: this.best?.cost ?? null,
    })
  }

  /** Level 1 made concrete at least cost; no rule is looked at. */
  leastCost(levelOne: LevelOne): void {
    const { model } = this
    this.report('least-cost', 0.05)
    this.mode = levelOne.mode
    this.filledFixed = levelOne.filled
    this.covers = levelOne.covers
    this.deficits = Int32Array.from(model.classes, (c, k) => c.seats - levelOne.filled[k]!)
    const plan = planRows(model, levelOne.mode)
    const problem = assignmentFor(model, plan, this.deficits, this.scratch.unitBits)
    const placed = runAssignment(problem, (x) => this.report('least-cost', 0.05 + 0.15 * x))
    if (!placed) throw new Error('Broken invariant: level 1 can be reached by the least-cost rows')
    this.work += problem.work
    const state = new RosterState(model)
    writeState(model, plan, problem, state)
    this.best = { state, violations: state.violations(), cost: state.cost() }
    this.startPrices = this.pricesOf(problem)
    this.leastCostValue = this.best.cost
    this.leastCostIsFinal = !levelOne.mode.includes(2) && !model.arcKind.some((k) => k !== WHOLE)
  }

  pricesOf(problem: { columnPrice: Float64Array }): Prices {
    const { model } = this
    const prices = this.bound.freshPrices()
    for (let u = 0; u < model.unitCount; u++) prices.unit[u] = Math.max(0, -problem.columnPrice[u]!)
    for (let k = 0; k < model.classes.length; k++)
      prices.filled[k] = -problem.columnPrice[model.unitCount + k]!
    return prices
  }

  /** What a solver mends better is left to it, but in a large county, and where people are short, exchanges mend nine
   *  crews of ten at a tenth of the solver's work, and leave a roster that windows of crews can better. */
  exchangePasses(): Pass[] {
    if (!this.context.mip)
      return [
        { hot: 3000, cold: 20, moves: 150 },
        { hot: 20_000, cold: 20, moves: 150 },
      ]
    return this.isScarce
      ? [
          { hot: 1000, cold: 20, moves: isLarge(this.model) ? 600 : 4000, steer: 60_000, neighbours: 40 },
          { hot: 1000, cold: 20, moves: isLarge(this.model) ? 1500 : 4000, steer: 200_000, neighbours: 40 },
        ]
      : [{ hot: 3000, cold: 20, moves: 50 }]
  }

  /** Single exchanges and windows of crews find little where nearly everybody is in use, or too much to look at. */
  get isScarce(): boolean {
    return isLarge(this.model) || isShort(this.model, this.filledFixed)
  }

  regional(mip: MipSolver, state: RosterState, from: number, to: number): RegionalRun {
    return {
      model: this.model,
      mip,
      state,
      filled: this.filledFixed,
      workLimit: this.context.workLimit,
      aborted: this.context.aborted,
      onProgress: (share) => this.report('improving', from + (to - from) * share),
    }
  }

  /** @param from, to the shares of the run that the pass takes, where it reports. */
  exchange(state: RosterState, pass: Pass, from = this.share, to = from): void {
    const exchanger = new Exchanger(this.model, state)
    exchanger.run({
      violationPrice: pass.steer ?? STEER,
      hardPrice: HARD,
      moves: Math.ceil(pass.moves * this.model.seatCount * Math.min(4, this.context.workLimit)),
      hot: pass.hot,
      cold: pass.cold,
      random: this.random,
      aborted: this.context.aborted,
      onProgress: (share) => this.report('improving', from + (to - from) * share),
      ...(pass.neighbours ? { neighbours: pass.neighbours } : {}),
    })
    this.work += exchanger.work
    this.offer(state)
  }

  /** Keeps a roster if it is better at levels 2 and 3 (its filled seats are those of level 1 by construction). */
  offer(state: RosterState): boolean {
    const violations = state.violations()
    const cost = state.cost()
    if (violations > this.best.violations) return false
    if (state.hardBreaches() > 0) return false
    if (violations === this.best.violations && cost >= this.best.cost) return false
    const kept = new RosterState(this.model)
    kept.copyFrom(state)
    this.best = { state: kept, violations, cost }
    return true
  }

  /** A roster solved exactly under the party and attribute pattern of tentative people (see patterns.ts). */
  tryPatterns(first: Int32Array, second?: Int32Array): RosterState | null {
    const { state, work } = patternRoster(this.bound, this.scratch.unitBits, {
      mode: this.mode,
      deficits: this.deficits,
      first,
      second,
    })
    this.work += work
    if (state) this.offer(state)
    return state
  }

  /** Lowers a roster's violations along chains, and its cost under its own pattern; in place. */
  mend(state: RosterState): void {
    for (let round = 0; round < MOST_ROUNDS; round++) {
      const prices = solveOwnPattern(this.model, state, this.random)
      this.work += prices.work
      this.offer(state)
      if (mendByChains(this.model, state, prices, this.context.aborted) === 0) return
      this.offer(state)
    }
  }

  roundedBound(spec: BoundSpec, prices: Prices): Priced {
    const rounded = roundPrices(this.bound, spec, prices)
    const value = this.bound.evaluate(spec, rounded).value
    return { prices: rounded, bound: Math.max(0, Math.ceil(value - 1e-6)) }
  }
}
