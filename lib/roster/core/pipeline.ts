/** The order of work inside `solveRoster` (see solve.ts for the method). */
import type { RosterResult } from '../schema'
import type { BoundSpec, Prices } from './bound-spec'
import { climb, roundPrices } from './dual'
import { searchAll } from './exhaustive'
import { enforceHardBalance } from './hard-balance'
import { Exchanger } from './improve'
import { type LevelOne, solveLevelOne } from './level-one'
import { boundCost } from './level-three'
import { boundViolations, closeLevelTwo, lowerViolations } from './level-two'
import { type Priced, resultOf, SCALE } from './result'
import { HARD, Run, type SolveContext } from './run'
import { closeSeats } from './share-seats'

export function runSolve(context: SolveContext): RosterResult {
  const { model, workLimit } = context
  const run = new Run(context)
  run.report('seats', 0.02)
  const hard = model.instance.rules.balance?.mode === 'hard'
  const levelOne = seatsOf(context, hard)
  run.leastCost(levelOne)
  if (hard) meetHardBalance(run, levelOne)
  let level2: Priced | null = null
  let level3: Priced | null = null
  if (run.best.violations > 0 && workLimit > 0) lowerViolations(run)
  if (run.best.violations > 0) level2 = boundViolations(run)
  if (level2) closeLevelTwo(run, level2)
  level3 = boundCost(run)
  closeBySearch(run, levelOne, level2?.bound ?? 0, level3.bound)
  run.report('done', 1)
  return outcome(run, levelOne, level2, level3)
}

/** Is more allowed by the bound of some prefix of the classes than is filled? */
function isOpen(filled: readonly number[], prefixBound: readonly number[]): boolean {
  let reached = 0
  return filled.some((n, k) => {
    reached += n
    return prefixBound[k]! > reached
  })
}

/** Level 1; sharing that covers leave open is searched, but where a hard balance decides over seats anyway. */
function seatsOf({ model, mip, workLimit }: SolveContext, hard: boolean): LevelOne {
  const found = solveLevelOne(model)
  return (
    (isOpen(found.filled, found.prefixBound) &&
      !hard &&
      mip &&
      workLimit >= 1 &&
      closeSeats(model, found, mip)) ||
    found
  )
}

/** A hard balance may leave seats empty: see hard-balance.ts. Level 1 is then bounded by prices as well. */
function meetHardBalance(run: Run, levelOne: LevelOne): void {
  const { model } = run
  const exchanger = new Exchanger(model, run.best.state)
  let excess = 0
  excess = run.best.state.hardBreaches()
  if (excess > 0) {
    exchanger.run({
      violationPrice: 0,
      hardPrice: HARD,
      moves: Math.ceil(400 * model.seatCount * Math.max(0.2, Math.min(4, run.context.workLimit))),
      hot: 4000,
      cold: 10,
      random: run.random,
      aborted: run.context.aborted,
    })
    run.work += exchanger.work
    enforceHardBalance(model, run.best.state)
    run.filledFixed = run.best.state.filledByClass()
    run.deficits = Int32Array.from(model.classes, (c, k) => c.seats - run.filledFixed[k]!)
  }
  run.best.violations = run.best.state.violations()
  run.best.cost = run.best.state.cost()
  if (run.filledFixed.some((n, k) => n !== levelOne.filled[k])) boundSeats(run, levelOne)
  run.leastCostIsFinal = run.leastCostIsFinal && excess === 0
}

/** Level-1 bounds for every prefix of the classes, from prices. */
function boundSeats(run: Run, levelOne: LevelOne): void {
  const { model } = run
  const prefix = [...levelOne.prefixBound]
  const kept: (Prices | null)[] = prefix.map(() => null)
  let prices = run.bound.freshPrices()
  let filled = 0
  for (let k = 0; k < model.classes.length; k++) {
    filled += run.filledFixed[k]!
    if (prefix[k]! <= filled) continue
    const spec = seatSpec(run, k)
    const climbed = climb(run.bound, spec, prices, {
      steps: Math.ceil(150 * Math.max(0.3, run.context.workLimit)),
      target: -filled * SCALE,
      closeEnough: SCALE * 0.999,
    })
    prices = roundPrices(run.bound, spec, climbed.prices)
    const value = run.bound.evaluate(spec, prices).value
    const bound = Math.floor(-value / SCALE + 1e-9)
    if (bound < prefix[k]!) {
      prefix[k] = bound
      kept[k] = prices
    }
  }
  run.level1Bound = { prices: kept, prefix }
}

function seatSpec(run: Run, last: number): BoundSpec {
  return {
    costFactor: 0,
    violationFactor: 0,
    allowedViolations: null,
    filled: run.model.classes.map(() => null),
    earn: Float64Array.from(run.model.classes, (_, k) => (k <= last ? SCALE : 0)),
  }
}

/** Small instances that the prices left open are searched through. */
function closeBySearch(run: Run, levelOne: LevelOne, bound2: number, bound3: number): void {
  const prefix = run.level1Bound?.prefix ?? levelOne.prefixBound
  const open = isOpen(run.best.state.filledByClass(), prefix)
  const least = run.costClosed || bound3 === run.best.cost
  const mended = run.violationsClosed || bound2 === run.best.violations
  if (!open && mended && least) return
  const found = searchAll(run.model, run.best.state, run.context.searchNodes)
  if (!found) return
  // Bounds of levels 2 and 3 were made for the seats filled then.
  run.searchMovedSeats = found.filled.some((n, k) => n !== run.filledFixed[k])
  run.searchMovedViolations = run.searchMovedSeats || found.violations !== run.best.violations
  run.best = { state: found.state, violations: found.violations, cost: found.cost }
  run.searched = true
}

function outcome(run: Run, levelOne: LevelOne, level2: Priced | null, level3: Priced): RosterResult {
  return resultOf({
    model: run.model,
    seatSlots: run.bound.slotKeys,
    levelOne,
    state: run.best.state,
    violations: run.best.violations,
    cost: run.best.cost,
    level1: run.level1Bound,
    level2,
    level3,
    searched: run.searched,
    costClosed: run.costClosed,
    violationsClosed: run.violationsClosed,
    movedSeats: run.searchMovedSeats,
    movedViolations: run.searchMovedViolations,
    interrupted: run.context.aborted(),
    seed: run.context.seed,
    work: run.work + run.bound.work,
  })
}
