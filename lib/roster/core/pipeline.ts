/** The order of work inside `solveRoster` (see solve.ts for the method). */
import { type Random, seededRandom } from '@/lib/kernel/random'
import type { RosterResult } from '../schema'
import { type BoundSpec, LagrangianBound, type Prices } from './bound'
import {
  closeViolations,
  closeWhole,
  isLarge,
  lowerCostByRegions,
  mendByRegions,
  type RegionalRun,
} from './by-regions'
import { climb, roundPrices } from './dual'
import { WHOLE } from './eligibility'
import { searchAll } from './exhaustive'
import { enforceHardBalance } from './hard-balance'
import { Exchanger } from './improve'
import { assignmentFor, planRows, runAssignment, writeState } from './least-cost'
import { type LevelOne, solveLevelOne } from './level-one'
import type { MipSolver } from './mip-model'
import type { Model } from './model'
import { patternRoster } from './patterns'
import type { SolveProgress } from './progress'
import { type Priced, resultOf, SCALE } from './result'
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
const HARD = 50_000_000
/** With no violation allowed any price of one is valid: a price no detour can match. */
const NO_VIOLATION = 10_000_000

interface Best {
  state: RosterState
  violations: number
  cost: number
}

export function runSolve(context: SolveContext): RosterResult {
  const { model, workLimit } = context
  const run = new Run(context)
  run.report('seats', 0.02)
  const levelOne = solveLevelOne(model)
  run.leastCost(levelOne)
  const hard = model.instance.rules.balance?.mode === 'hard'
  if (hard) run.meetHardBalance(levelOne)
  let level2: Priced | null = null
  let level3: Priced | null = null
  if (run.best.violations > 0 && workLimit > 0) run.lowerViolations()
  if (run.best.violations > 0) level2 = run.boundViolations()
  if (level2) run.closeLevelTwo(level2)
  level3 = run.boundCost()
  run.closeBySearch(levelOne, level2?.bound ?? 0, level3.bound)
  run.report('done', 1)
  return run.outcome(levelOne, level2, level3)
}

class Run {
  best!: Best
  readonly bound: LagrangianBound
  private readonly model: Model
  private readonly random: Random
  private readonly scratch: RosterState
  private startPrices: Prices | null = null
  private share = 0
  private work = 0
  private filledFixed: number[] = []
  private deficits = new Int32Array(0)
  private level1Bound: { prices: (Prices | null)[]; prefix: number[] } | null = null
  private leastCostIsFinal = false
  private searched = false
  private costClosed = false
  private violationsClosed = false
  private searchMovedSeats = false
  private searchMovedViolations = false
  private mode: Uint8Array = new Uint8Array(0)

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
    this.leastCostIsFinal = !levelOne.mode.includes(2) && !model.arcKind.some((k) => k !== WHOLE)
  }

  private pricesOf(problem: { columnPrice: Float64Array }): Prices {
    const { model } = this
    const prices = this.bound.freshPrices()
    for (let u = 0; u < model.unitCount; u++) prices.unit[u] = Math.max(0, -problem.columnPrice[u]!)
    for (let k = 0; k < model.classes.length; k++)
      prices.filled[k] = -problem.columnPrice[model.unitCount + k]!
    return prices
  }

  /** A hard balance may leave seats empty: see hard-balance.ts. Level 1 is then bounded by prices as well. */
  meetHardBalance(levelOne: LevelOne): void {
    const { model } = this
    const exchanger = new Exchanger(model, this.best.state)
    let excess = 0
    excess = this.best.state.hardBreaches()
    if (excess > 0) {
      exchanger.run({
        violationPrice: 0,
        hardPrice: HARD,
        moves: Math.ceil(400 * model.seatCount * Math.max(0.2, Math.min(4, this.context.workLimit))),
        hot: 4000,
        cold: 10,
        random: this.random,
        aborted: this.context.aborted,
      })
      this.work += exchanger.work
      enforceHardBalance(model, this.best.state)
      this.filledFixed = this.best.state.filledByClass()
      this.deficits = Int32Array.from(model.classes, (c, k) => c.seats - this.filledFixed[k]!)
    }
    this.best.violations = this.best.state.violations()
    this.best.cost = this.best.state.cost()
    if (this.filledFixed.some((n, k) => n !== levelOne.filled[k])) this.boundSeats(levelOne)
    this.leastCostIsFinal = this.leastCostIsFinal && excess === 0
  }

  /** Level-1 bounds for every prefix of the classes, from prices. */
  private boundSeats(levelOne: LevelOne): void {
    const { model } = this
    const prefix = [...levelOne.prefixBound]
    const kept: (Prices | null)[] = prefix.map(() => null)
    let prices = this.bound.freshPrices()
    let filled = 0
    for (let k = 0; k < model.classes.length; k++) {
      filled += this.filledFixed[k]!
      if (prefix[k]! <= filled) continue
      const spec = this.seatSpec(k)
      const climbed = climb(this.bound, spec, prices, {
        steps: Math.ceil(150 * Math.max(0.3, this.context.workLimit)),
        target: -filled * SCALE,
        closeEnough: SCALE * 0.999,
      })
      prices = roundPrices(this.bound, spec, climbed.prices)
      const value = this.bound.evaluate(spec, prices).value
      const bound = Math.floor(-value / SCALE + 1e-9)
      if (bound < prefix[k]!) {
        prefix[k] = bound
        kept[k] = prices
      }
    }
    this.level1Bound = { prices: kept, prefix }
  }

  private seatSpec(last: number): BoundSpec {
    return {
      costFactor: 0,
      violationFactor: 0,
      allowedViolations: null,
      filled: this.model.classes.map(() => null),
      earn: Float64Array.from(this.model.classes, (_, k) => (k <= last ? SCALE : 0)),
    }
  }

  /** Exchanges that weigh a violation more than any detour, from several temperatures. */
  lowerViolations(): void {
    const { model } = this
    this.report('improving', 0.22)
    this.tryPatterns(this.best.state.first)
    const state = new RosterState(model)
    const { mip } = this.context
    for (const [hot, moves] of this.exchangePasses()) {
      if (this.best.violations === 0 || this.context.aborted()) return
      state.copyFrom(this.best.state)
      this.exchange(state, hot, moves)
    }
    if (!mip || this.best.violations === 0) return
    state.copyFrom(this.best.state)
    mendByRegions(this.regional(mip, state, 0.25, 0.3))
    this.offer(state)
  }

  /** Hottest temperature and moves a seat of each pass. What a solver mends better is left to it, but in a large county
   *  exchanges mend nine crews of ten at a tenth of the solver's work. */
  private exchangePasses(): [hot: number, moves: number][] {
    if (!this.context.mip)
      return [
        [3000, 150],
        [20_000, 150],
      ]
    return isLarge(this.model) ? [[60_000, 400]] : [[3000, 50]]
  }

  private regional(mip: MipSolver, state: RosterState, from: number, to: number): RegionalRun {
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

  private exchange(state: RosterState, hot: number, movesPerSeat: number, seats?: Int32Array): void {
    const exchanger = new Exchanger(this.model, state)
    exchanger.run({
      violationPrice: STEER,
      hardPrice: HARD,
      moves: Math.ceil(
        movesPerSeat * (seats?.length ?? this.model.seatCount) * Math.min(4, this.context.workLimit),
      ),
      hot,
      cold: 20,
      random: this.random,
      aborted: this.context.aborted,
      ...(seats ? { seats } : {}),
    })
    this.work += exchanger.work
    this.offer(state)
  }

  /** Keeps a roster if it is better at levels 2 and 3 (its filled seats are those of level 1 by construction). */
  private offer(state: RosterState): boolean {
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
  private tryPatterns(first: Int32Array, second?: Int32Array): RosterState | null {
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

  /** Level 2 from below, given the seats filled. */
  boundViolations(): Priced {
    const spec: BoundSpec = {
      costFactor: 0,
      violationFactor: SCALE,
      allowedViolations: null,
      filled: this.filledFixed,
      earn: new Float64Array(this.model.classes.length),
    }
    this.report('bounds', 0.3)
    const climbed = climb(this.bound, spec, this.bound.freshPrices(), {
      steps: Math.ceil(120 * this.context.workLimit),
      target: this.best.violations * SCALE,
      closeEnough: SCALE * 0.999,
      pauseEvery: 10,
      onPause: () => (this.context.aborted() ? null : undefined),
    })
    const prices = roundPrices(this.bound, spec, climbed.prices)
    const value = this.bound.evaluate(spec, prices).value
    return { prices, bound: Math.max(0, Math.ceil(value / SCALE - 1e-9)) }
  }

  /** What prices leave open at level 2 the whole model may close, where it is small. */
  closeLevelTwo(level2: Priced): void {
    const { mip, aborted } = this.context
    if (!mip || aborted() || level2.bound >= this.best.violations) return
    const state = new RosterState(this.model)
    state.copyFrom(this.best.state)
    this.violationsClosed = closeViolations(this.regional(mip, state, 0.31, 0.32))
    this.offer(state)
  }

  private costSpec(): BoundSpec {
    return {
      costFactor: 1,
      violationFactor: 0,
      allowedViolations: this.best.violations,
      filled: this.filledFixed,
      earn: new Float64Array(this.model.classes.length),
    }
  }

  /** Level 3 from both sides, given the seats filled and the violations reached. */
  boundCost(): Priced {
    const rulesBite =
      this.bound.crews.some((c) => c.partyMatters || c.slots.length > 0) || this.scratch.hasPairs
    const settled = this.leastCostIsFinal && !rulesBite
    const { mip, workLimit } = this.context
    if (mip && workLimit > 0 && !settled) {
      const priced = this.boundCostByRegions(mip)
      if (priced) return priced
    }
    return this.boundCostByExchanges(settled)
  }

  /** Null where the solver failed: then the roster and its bound are left to the other way. */
  private boundCostByRegions(mip: MipSolver): Priced | null {
    const state = new RosterState(this.model)
    state.copyFrom(this.best.state)
    const run = this.regional(mip, state, 0.32, 0.85)
    const prices = lowerCostByRegions(run, this.bound)
    this.offer(state)
    if (!prices) return null
    const spec = this.costSpec()
    if (spec.allowedViolations === 0) prices.violation = NO_VIOLATION
    this.report('bounds', 0.86)
    const climbed = climb(this.bound, spec, prices, {
      steps: Math.ceil(60 * this.context.workLimit),
      target: this.best.cost,
      closeEnough: 0.999,
      agility: 0.2,
    })
    const priced = this.roundedBound(spec, climbed.prices)
    if (priced.bound < this.best.cost && !this.context.aborted()) {
      state.copyFrom(this.best.state)
      this.costClosed = closeWhole(run)
      this.offer(state)
    }
    return priced
  }

  private roundedBound(spec: BoundSpec, prices: Prices): Priced {
    const rounded = roundPrices(this.bound, spec, prices)
    const value = this.bound.evaluate(spec, rounded).value
    return { prices: rounded, bound: Math.max(0, Math.ceil(value - 1e-6)) }
  }

  private boundCostByExchanges(settled: boolean): Priced {
    const { model } = this
    let spec = this.costSpec()
    let prices = this.startPrices!
    prices.violation = spec.allowedViolations === 0 ? NO_VIOLATION : 20_000
    const steps = settled ? 1 : Math.ceil(250 * this.context.workLimit) + 1
    this.report('bounds', 0.35)
    const state = new RosterState(model)
    const climbed = climb(this.bound, spec, prices, {
      steps,
      target: this.best.cost,
      closeEnough: 0.999,
      pauseEvery: 25,
      onPause: (step) => {
        if (this.context.aborted()) return null
        this.report('bounds', 0.35 + (0.5 * step) / steps)
        return undefined
      },
    })
    prices = climbed.prices
    if (steps > 1 && climbed.value < this.best.cost - 0.999) {
      for (let round = 0; round < 3 && !this.context.aborted(); round++) {
        const again = climb(this.bound, spec, prices, {
          steps: 3,
          target: this.best.cost,
          closeEnough: 0.999,
        })
        if (again.value > climbed.value) prices = again.prices
        const { choice } = this.bound.evaluate(spec, prices, true)
        const patterned = this.tryPatterns(choice!)
        if (patterned) {
          state.copyFrom(patterned)
          this.exchange(state, 600, 100)
        }
        state.copyFrom(this.best.state)
        this.exchange(state, 1500, 100)
        this.tryPatterns(this.best.state.first, this.best.state.second)
        this.report('improving', 0.85 + 0.04 * round)
      }
    }
    spec = this.costSpec()
    return this.roundedBound(spec, prices)
  }

  /** Small instances that the prices left open are searched through. */
  closeBySearch(levelOne: LevelOne, bound2: number, bound3: number): void {
    const prefix = this.level1Bound?.prefix ?? levelOne.prefixBound
    let reached = 0
    const open = this.best.state.filledByClass().some((n, k) => {
      reached += n
      return prefix[k]! > reached
    })
    const least = this.costClosed || bound3 === this.best.cost
    const mended = this.violationsClosed || bound2 === this.best.violations
    if (!open && mended && least) return
    const found = searchAll(this.model, this.best.state, this.context.searchNodes)
    if (!found) return
    // Bounds of levels 2 and 3 were made for the seats filled then.
    this.searchMovedSeats = found.filled.some((n, k) => n !== this.filledFixed[k])
    this.searchMovedViolations = this.searchMovedSeats || found.violations !== this.best.violations
    this.best = { state: found.state, violations: found.violations, cost: found.cost }
    this.searched = true
  }

  outcome(levelOne: LevelOne, level2: Priced | null, level3: Priced): RosterResult {
    return resultOf({
      model: this.model,
      seatSlots: this.bound.slotKeys,
      levelOne,
      state: this.best.state,
      violations: this.best.violations,
      cost: this.best.cost,
      level1: this.level1Bound,
      level2,
      level3,
      searched: this.searched,
      costClosed: this.costClosed,
      violationsClosed: this.violationsClosed,
      movedSeats: this.searchMovedSeats,
      movedViolations: this.searchMovedViolations,
      interrupted: this.context.aborted(),
      seed: this.context.seed,
      work: this.work + this.bound.work,
    })
  }
}
