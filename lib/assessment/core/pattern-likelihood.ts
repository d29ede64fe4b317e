import type { Likelihood } from './likelihood'
import type { Grid } from './quadrature'
import type { Responses } from './responses'
import { softplus } from './score-likelihood'

/** Marginal log-likelihood where every item has its own slope: by answer pattern. Parameters: k intercepts, k slopes. */
export function patternLikelihood(r: Responses, used: readonly number[], grid: Grid): Likelihood {
  const k = used.length
  const q = grid.points.length
  const patterns = new Map<string, { right: number[]; missing: number[]; count: number }>()
  for (let row = 0; row < r.rows; row++) {
    const right: number[] = []
    const missing: number[] = []
    for (let at = 0; at < k; at++) {
      const m = r.marks[row * r.items + used[at]!]!
      if (Number.isNaN(m)) missing.push(at)
      else if (m === 1) right.push(at)
    }
    const key = `${right.join()}/${missing.join()}`
    const same = patterns.get(key)
    if (same) same.count += r.counts[row]!
    else patterns.set(key, { right, missing, count: r.counts[row]! })
  }
  const list = [...patterns.values()]
  const logWeights = grid.weights.map(Math.log)

  return (x) => {
    const eta = new Float64Array(k * q)
    const plus = new Float64Array(k * q)
    const all = Float64Array.from(logWeights)
    for (let at = 0; at < k; at++)
      for (let j = 0; j < q; j++) {
        const e = x[k + at]! * grid.points[j]! + x[at]!
        eta[at * q + j] = e
        plus[at * q + j] = softplus(e)
        all[j]! -= plus[at * q + j]!
      }
    const people = new Float64Array(q)
    // Expected people who answered right, less those who didn't have the item at all (counted back in below).
    const rightAt = new Float64Array(k * q)
    const missingAt = new Float64Array(k * q)
    const log = new Float64Array(q)
    let value = 0
    for (const { right, missing, count } of list) {
      log.set(all)
      for (const at of right) {
        const from = at * q
        for (let j = 0; j < q; j++) log[j]! += eta[from + j]!
      }
      for (const at of missing) {
        const from = at * q
        for (let j = 0; j < q; j++) log[j]! += plus[from + j]!
      }
      let high = Number.NEGATIVE_INFINITY
      for (let j = 0; j < q; j++) if (log[j]! > high) high = log[j]!
      let sum = 0
      for (let j = 0; j < q; j++) {
        log[j] = Math.exp(log[j]! - high)
        sum += log[j]!
      }
      value += count * (high + Math.log(sum))
      const share = count / sum
      for (let j = 0; j < q; j++) {
        log[j]! *= share
        people[j]! += log[j]!
      }
      for (const at of right) {
        const from = at * q
        for (let j = 0; j < q; j++) rightAt[from + j]! += log[j]!
      }
      for (const at of missing) {
        const from = at * q
        for (let j = 0; j < q; j++) missingAt[from + j]! += log[j]!
      }
    }
    const gradient = new Float64Array(2 * k)
    for (let at = 0; at < k; at++)
      for (let j = 0; j < q; j++) {
        const i = at * q + j
        const residual = rightAt[i]! - (people[j]! - missingAt[i]!) / (1 + Math.exp(-eta[i]!))
        gradient[at]! += residual
        gradient[k + at]! += residual * grid.points[j]!
      }
    return { value, gradient }
  }
}
