/** Level 2 from both sides: fewer violations and a bound on them, given the seats filled. */
import type { BoundSpec, Prices } from './bound-spec'
import { closeViolations, isLarge, isShort, mendByRegions } from './by-regions'
import { countingPrices } from './counting'
import { climb, roundPrices } from './dual'
import { type Priced, SCALE } from './result'
import { type Run, SHORT_VIOLATION } from './run'
import { RosterState } from './state'

/** Exchanges that weigh a violation more than any detour, from several temperatures. */
export function lowerViolations(run: Run): void {
  const { model } = run
  run.report('improving', 0.22)
  run.tryPatterns(run.best.state.first)
  const state = new RosterState(model)
  const { mip } = run.context
  const passes = run.exchangePasses()
  if (mip && isShort(model, run.filledFixed)) startFromPrices(run)
  for (const [i, pass] of passes.entries()) {
    if (run.best.violations === 0 || run.context.aborted()) return
    state.copyFrom(run.best.state)
    const step = 0.04 / passes.length
    run.exchange(state, pass, 0.24 + step * i, 0.24 + step * (i + 1))
    run.mend(state)
  }
  if (!mip || run.best.violations === 0) return
  state.copyFrom(run.best.state)
  mendByRegions(run.regional(mip, state, 0.28, 0.3))
  run.mend(state)
}

/** What the cost of a good roster is about, as a multiple of one that knows no rule: only steers the climb. */
const LIKELY_COST = 1.15

/** The pattern of the crews that are each cheapest at prices where people are scarce: who speaks a language, say, is spread
 *  over the county before anybody is moved, and the bound of level 3 starts from the same prices. */
function startFromPrices(run: Run): void {
  const { aborted, workLimit } = run.context
  const spec: BoundSpec = {
    costFactor: 1,
    violationFactor: SHORT_VIOLATION,
    allowedViolations: null,
    filled: run.filledFixed,
    earn: new Float64Array(run.model.classes.length),
  }
  const steps = Math.ceil(150 * workLimit)
  const climbed = climb(run.bound, spec, run.startPrices!, {
    steps,
    target: LIKELY_COST * run.leastCostValue,
    closeEnough: 0.999,
    agility: 0.2,
    pauseEvery: 5,
    onPause: (step) => {
      run.report('improving', 0.22 + (0.02 * step) / steps)
      return aborted() ? null : undefined
    },
  })
  run.scarcePrices = { ...climbed.prices, violation: SHORT_VIOLATION }
  const { choice } = run.bound.evaluate(spec, climbed.prices, true)
  run.tryPatterns(choice!)
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
  const start = bestStart(run, spec)
  const climbed = climb(run.bound, spec, start, {
    steps: Math.ceil((isLarge(run.model) ? 40 : 120) * run.context.workLimit),
    target: run.best.violations * SCALE,
    closeEnough: SCALE * 0.999,
    pauseEvery: 10,
    onPause: () => (run.context.aborted() ? null : undefined),
  })
  const prices = roundPrices(run.bound, spec, climbed.prices)
  const value = run.bound.evaluate(spec, prices).value
  return { prices, bound: Math.max(0, Math.ceil(value / SCALE - 1e-9)) }
}

/** Scales of what an empty seat costs beyond the violations that filling it may bring. */
const SEAT_SCALES = [3, 10]

/** Counting prices, and on top of them, where a class has empty seats, prices of level 1: a seat left empty in a crew
 *  whose people bring violations costs the seat of another. */
function bestStart(run: Run, spec: BoundSpec): Prices {
  let best = countingPrices(run.bound, SCALE)
  if (run.deficits.every((n) => n === 0)) return best
  const counted = best
  let most = run.bound.evaluate(spec, counted).value
  for (const scale of SEAT_SCALES) {
    const prices = { ...counted, unit: counted.unit.slice(), filled: counted.filled.slice() }
    addSeatPrices(run, prices, scale * SCALE)
    const { value } = run.bound.evaluate(spec, prices)
    if (value <= most) continue
    most = value
    best = prices
  }
  return best
}

/** A cover of the classes up to one that isn't full bounds their filled seats: its people and the seats outside it
 *  priced alike cost the bound nothing. */
function addSeatPrices({ covers, deficits }: Run, prices: Prices, price: number): void {
  let missing = 0
  covers.forEach(({ units }, last) => {
    missing += deficits[last]!
    if (missing === 0) return
    for (const unit of units) prices.unit[unit] = prices.unit[unit]! + price
    for (let k = 0; k <= last; k++) prices.filled[k] = prices.filled[k]! + price
  })
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
