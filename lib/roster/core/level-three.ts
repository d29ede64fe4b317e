/** Level 3 from both sides: a roster of less cost and a bound on it, given the seats filled and the violations reached. */
import type { BoundSpec, Prices } from './bound-spec'
import { closeWhole, isLarge, lowerCostByRegions } from './by-regions'
import { climb } from './dual'
import type { MipSolver } from './mip-model'
import type { Priced } from './result'
import { type Pass, type Run, SHORT_VIOLATION } from './run'
import { RosterState } from './state'

/** Exchanges before the solver, which betters what they leave and takes far longer without them. */
const costPass = ({ model }: Run): Pass => ({
  hot: isLarge(model) ? 1000 : 2000,
  cold: 20,
  moves: isLarge(model) ? 1500 : 6000,
  steer: 200_000,
  neighbours: 40,
})

/** With no violation allowed any price of one is valid: a price no detour can match. */
const NO_VIOLATION = 10_000_000

/** Level 3 from both sides, given the seats filled and the violations reached. */
export function boundCost(run: Run): Priced {
  const rulesBite = run.bound.crews.some((c) => c.partyMatters || c.slots.length > 0) || run.scratch.hasPairs
  const settled = run.leastCostIsFinal && !rulesBite
  const { mip, workLimit } = run.context
  if (mip && workLimit > 0 && !settled) {
    const priced = boundCostByRegions(run, mip)
    if (priced) return priced
  }
  return boundCostByExchanges(run, settled)
}

function costSpec(run: Run): BoundSpec {
  return {
    costFactor: 1,
    violationFactor: 0,
    allowedViolations: run.best.violations,
    filled: run.filledFixed,
    earn: new Float64Array(run.model.classes.length),
  }
}

/** Where people are short, what an empty seat is worth differs from region to region, and the prices of the county's
 *  least-cost roster, which knows no rule, may bound better than those of the regions together: with a violation at no
 *  price they bound by that roster's cost. */
function bestStart(run: Run, spec: BoundSpec, regional: Prices): Prices {
  const { startPrices, scarcePrices } = run
  const whole = (violation: number): Prices => ({
    ...startPrices!,
    minimum: startPrices!.minimum.slice(),
    violation,
  })
  const starts = [regional, whole(regional.violation)]
  if (scarcePrices)
    starts.push(
      spec.allowedViolations === 0 ? { ...scarcePrices, violation: regional.violation } : scarcePrices,
    )
  if (spec.allowedViolations !== 0) starts.push(whole(scarcePrices ? SHORT_VIOLATION : 0), whole(0))
  let best = regional
  let most = Number.NEGATIVE_INFINITY
  for (const start of starts) {
    run.bound.clip(spec, start)
    const { value } = run.bound.evaluate(spec, start)
    if (value > most) {
      most = value
      best = start
    }
  }
  return best
}

/** Null where the solver failed: then the roster and its bound are left to the other way. */
function boundCostByRegions(run: Run, mip: MipSolver): Priced | null {
  const state = new RosterState(run.model)
  state.copyFrom(run.best.state)
  run.exchange(state, costPass(run), 0.32, 0.45)
  state.copyFrom(run.best.state)
  run.mend(state)
  state.copyFrom(run.best.state)
  const regional = run.regional(mip, state, 0.45, 0.8)
  const prices = lowerCostByRegions(regional, run.bound)
  run.offer(state)
  run.mend(state)
  if (!prices) return null
  const spec = costSpec(run)
  if (spec.allowedViolations === 0) prices.violation = NO_VIOLATION
  run.report('bounds', 0.8)
  const start = bestStart(run, spec, prices)
  const steps = Math.ceil(200 * run.context.workLimit)
  const climbed = climb(run.bound, spec, start, {
    steps,
    target: run.best.cost,
    closeEnough: 0.999,
    agility: 0.2,
    pauseEvery: 5,
    onPause: (step) => {
      run.report('bounds', 0.8 + (0.15 * step) / steps)
      return run.context.aborted() ? null : undefined
    },
  })
  const priced = run.roundedBound(spec, climbed.prices)
  if (priced.bound < run.best.cost && !run.context.aborted()) {
    state.copyFrom(run.best.state)
    run.costClosed = closeWhole(regional)
    run.offer(state)
  }
  return priced
}

function boundCostByExchanges(run: Run, settled: boolean): Priced {
  const { model } = run
  let spec = costSpec(run)
  let prices = run.startPrices!
  prices.violation = spec.allowedViolations === 0 ? NO_VIOLATION : 20_000
  const steps = settled ? 1 : Math.ceil(250 * run.context.workLimit) + 1
  run.report('bounds', 0.35)
  const state = new RosterState(model)
  const climbed = climb(run.bound, spec, prices, {
    steps,
    target: run.best.cost,
    closeEnough: 0.999,
    pauseEvery: 25,
    onPause: (step) => {
      if (run.context.aborted()) return null
      run.report('bounds', 0.35 + (0.5 * step) / steps)
      return undefined
    },
  })
  prices = climbed.prices
  if (steps > 1 && climbed.value < run.best.cost - 0.999) {
    for (let round = 0; round < 3 && !run.context.aborted(); round++) {
      const again = climb(run.bound, spec, prices, {
        steps: 3,
        target: run.best.cost,
        closeEnough: 0.999,
      })
      if (again.value > climbed.value) prices = again.prices
      const { choice } = run.bound.evaluate(spec, prices, true)
      const patterned = run.tryPatterns(choice!)
      if (patterned) {
        state.copyFrom(patterned)
        run.exchange(state, { hot: 600, cold: 20, moves: 100 })
      }
      state.copyFrom(run.best.state)
      run.exchange(state, { hot: 1500, cold: 20, moves: 100 })
      run.tryPatterns(run.best.state.first, run.best.state.second)
      run.report('improving', 0.85 + 0.04 * round)
    }
  }
  spec = costSpec(run)
  return run.roundedBound(spec, prices)
}
