/** Climbs the Lagrangian bound: the subgradient method with Polyak's step towards a target, the direction smoothed
 *  (deflected) with the one before. Deterministic; the best prices seen are kept. References: Polyak 1969; Camerini,
 *  Fratta & Maffioli 1975, Math. Prog. Study 3:26. */
import type { BoundResult, LagrangianBound } from './bound'
import type { BoundSpec, Prices } from './bound-spec'

export interface ClimbOptions {
  steps: number
  /** A value known to be reachable (an upper bound of the level), in the spec's unit. */
  target: number
  /** Called every `pauseEvery` steps with the latest choices; a returned number is a new target, `null` stops. */
  onPause?: (step: number, best: number) => number | undefined | null
  pauseEvery?: number
  /** Stop once the bound is above `target − closeEnough`. */
  closeEnough: number
  /** Share of the step that would reach the target; default 1. Less where prices are good already. */
  agility?: number
}

const copyPrices = (p: Prices): Prices => ({
  unit: p.unit.slice(),
  filled: p.filled.slice(),
  minimum: p.minimum.slice(),
  violation: p.violation,
})

/** Improves prices; returns the best ones with their bound. */
export function climb(
  bound: LagrangianBound,
  spec: BoundSpec,
  start: Prices,
  options: ClimbOptions,
): { prices: Prices; value: number; steps: number } {
  const { model } = bound
  let prices = copyPrices(start)
  bound.clip(spec, prices)
  let best = Number.NEGATIVE_INFINITY
  let bestPrices = prices
  let target = options.target
  let agility = options.agility ?? 1
  let stale = 0
  const free = model.classes.map((c, k) => spec.filled[k] !== null && spec.filled[k] !== c.seats)
  let direction: Float64Array | null = null
  const U = model.unitCount
  const C = model.classes.length
  const M = bound.slotCount
  // A violation and a class are shared by every crew: their slopes are as steep as there are crews.
  const shared = 1 / Math.max(1, bound.crews.length)
  const weight = new Float64Array(U + C + M + 1).fill(1)
  weight.fill(shared, U, U + C)
  weight[U + C + M] = shared
  let step = 0
  for (; step < options.steps; step++) {
    const r: BoundResult = bound.evaluate(spec, prices)
    if (r.value > best + 1e-9) {
      if (r.value > best + Math.abs(target - best) * 1e-3) stale = 0
      best = r.value
      bestPrices = copyPrices(prices)
    } else stale++
    if (best >= target - options.closeEnough) break
    if (stale > 12) {
      agility /= 2
      stale = 0
      prices = copyPrices(bestPrices)
      direction = null
      if (agility < 1e-4) break
      continue
    }
    if (options.onPause && step > 0 && step % (options.pauseEvery ?? 50) === 0) {
      const next = options.onPause(step, best)
      if (next === null) break
      if (next !== undefined) target = next
    }
    const gradient = new Float64Array(U + C + M + 1)
    for (let u = 0; u < U; u++) {
      const g = r.use[u]! - 1
      gradient[u] = g < 0 && prices.unit[u] === 0 ? 0 : g
    }
    for (let k = 0; k < C; k++) gradient[U + k] = free[k] ? spec.filled[k]! - r.filled[k]! : 0
    for (let i = 0; i < M; i++) {
      const g = r.shortfall[i]!
      gradient[U + C + i] = g < 0 && prices.minimum[i] === 0 ? 0 : g
    }
    if (spec.allowedViolations !== null && spec.allowedViolations > 0)
      gradient[U + C + M] = r.violations + bound.heldDown(spec, prices, r.shortfall) - spec.allowedViolations
    if (direction) {
      let dot = 0
      let norm = 0
      for (let i = 0; i < gradient.length; i++) {
        dot += weight[i]! * gradient[i]! * direction[i]!
        norm += weight[i]! * direction[i]! * direction[i]!
      }
      // Turn only where the old direction points against the new one.
      const turn = dot < 0 && norm > 0 ? (-1.5 * dot) / norm : 0
      if (turn > 0)
        for (let i = 0; i < gradient.length; i++) gradient[i] = gradient[i]! + turn * direction[i]!
    }
    direction = gradient
    let norm = 0
    for (let i = 0; i < gradient.length; i++) norm += weight[i]! * gradient[i]! * gradient[i]!
    if (norm === 0) break
    const length = (agility * (target - r.value)) / norm
    for (let u = 0; u < U; u++) prices.unit[u] = prices.unit[u]! + length * gradient[u]!
    for (let k = 0; k < C; k++) prices.filled[k] = prices.filled[k]! + length * shared * gradient[U + k]!
    for (let i = 0; i < M; i++) prices.minimum[i] = prices.minimum[i]! + length * gradient[U + C + i]!
    if (spec.allowedViolations !== null && spec.allowedViolations > 0)
      prices.violation += length * shared * gradient[U + C + M]!
    bound.clip(spec, prices)
  }
  return { prices: bestPrices, value: best, steps: step }
}

/** Whole prices: what a result carries, so that every checker sums the same numbers exactly. */
export function roundPrices(bound: LagrangianBound, spec: BoundSpec, prices: Prices): Prices {
  const rounded: Prices = {
    unit: prices.unit.map(Math.round),
    filled: prices.filled.map(Math.round),
    minimum: prices.minimum.map(Math.floor),
    violation: Math.round(prices.violation),
  }
  bound.clip(spec, rounded)
  return rounded
}
