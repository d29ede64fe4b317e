/** Level 2 from both sides: fewer violations and a bound on them, given the seats filled. */
import type { BoundSpec } from './bound'
import { closeViolations, mendByRegions } from './by-regions'
import { countingPrices } from './counting'
import { climb, roundPrices } from './dual'
import { type Priced, SCALE } from './result'
import type { Run } from './run'
import { RosterState } from './state'

/** Exchanges that weigh a violation more than any detour, from several temperatures. */
export function lowerViolations(run: Run): void {
  const { model } = run
  run.report('improving', 0.22)
  run.tryPatterns(run.best.state.first)
  const state = new RosterState(model)
  const { mip } = run.context
  for (const pass of run.exchangePasses()) {
    if (run.best.violations === 0 || run.context.aborted()) return
    state.copyFrom(run.best.state)
    const patterned = pass.steer && run.tryPatterns(state.first, state.second, true)
    if (patterned) state.copyFrom(patterned)
    run.exchange(state, pass)
  }
  if (!mip || run.best.violations === 0) return
  state.copyFrom(run.best.state)
  mendByRegions(run.regional(mip, state, 0.25, 0.3))
  run.offer(state)
}

/** Level 2 from below, given the seats filled. */
export function boundViolations(run: Run): Priced {
  const spec: BoundSpec = {
    costFactor: 0,
    violationFactor: SCALE,
    allowedViolations: null,
    filled: run.filledFixed,
    earn: new Float64Array(run.model.classes.length),
  }
  run.report('bounds', 0.3)
  const start = countingPrices(run.bound, SCALE)
  const climbed = climb(run.bound, spec, start, {
    steps: Math.ceil(120 * run.context.workLimit),
    target: run.best.violations * SCALE,
    closeEnough: SCALE * 0.999,
    pauseEvery: 10,
    onPause: () => (run.context.aborted() ? null : undefined),
  })
  const prices = roundPrices(run.bound, spec, climbed.prices)
  const value = run.bound.evaluate(spec, prices).value
  return { prices, bound: Math.max(0, Math.ceil(value / SCALE - 1e-9)) }
}

/** What prices leave open at level 2 the whole model may close, where it is small. */
export function closeLevelTwo(run: Run, level2: Priced): void {
  const { mip, aborted } = run.context
  if (!mip || aborted() || level2.bound >= run.best.violations) return
  const state = new RosterState(run.model)
  state.copyFrom(run.best.state)
  run.violationsClosed = closeViolations(run.regional(mip, state, 0.31, 0.32))
  run.offer(state)
}
