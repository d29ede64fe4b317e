import type { Likelihood } from './likelihood'
import type { Grid } from './quadrature'
import type { Responses } from './responses'

/** ln(1 + e^x) without overflow. */
export const softplus = (x: number): number =>
  x > 0 ? x + Math.log1p(Math.exp(-x)) : Math.log1p(Math.exp(x))

interface HadGroup {
  /** Positions (in `used`) of the items that these people had. */
  items: number[]
  /** Number right → people. */
  scores: Map<number, number>
}

/** Marginal log-likelihood where all items have one slope: people count by which items they had and how many they
 *  answered right, because nothing else moves the posterior of their ability. */
export function scoreLikelihood(
  r: Responses,
  used: readonly number[],
  grid: Grid,
  slope: boolean,
): Likelihood {
  const k = used.length
  const q = grid.points.length
  const groups = new Map<string, HadGroup>()
  const right = new Float64Array(k)
  for (let row = 0; row < r.rows; row++) {
    const count = r.counts[row]!
    const items: number[] = []
    let score = 0
    for (let at = 0; at < k; at++) {
      const m = r.marks[row * r.items + used[at]!]!
      if (Number.isNaN(m)) continue
      items.push(at)
      score += m
      right[at]! += m * count
    }
    const key = items.length === k ? '' : items.join()
    const group = groups.get(key) ?? { items, scores: new Map<number, number>() }
    groups.set(key, group)
    group.scores.set(score, (group.scores.get(score) ?? 0) + count)
  }
  const logWeights = grid.weights.map(Math.log)

  return (x) => {
    const a = slope ? x[k]! : 1
    const gradient = new Float64Array(x.length)
    let value = 0
    const plus = new Float64Array(k * q)
    const chance = new Float64Array(k * q)
    for (let at = 0; at < k; at++) {
      for (let j = 0; j < q; j++) {
        const eta = a * grid.points[j]! + x[at]!
        plus[at * q + j] = softplus(eta)
        chance[at * q + j] = 1 / (1 + Math.exp(-eta))
      }
      value += right[at]! * x[at]!
      gradient[at] = right[at]!
    }
    const base = new Float64Array(q)
    const people = new Float64Array(q)
    const log = new Float64Array(q)
    for (const group of groups.values()) {
      base.set(logWeights)
      people.fill(0)
      for (const at of group.items) for (let j = 0; j < q; j++) base[j]! -= plus[at * q + j]!
      for (const [score, count] of group.scores) {
        let high = Number.NEGATIVE_INFINITY
        for (let j = 0; j < q; j++) {
          log[j] = base[j]! + a * score * grid.points[j]!
          if (log[j]! > high) high = log[j]!
        }
        let sum = 0
        for (let j = 0; j < q; j++) {
          log[j] = Math.exp(log[j]! - high)
          sum += log[j]!
        }
        value += count * (high + Math.log(sum))
        for (let j = 0; j < q; j++) {
          const posterior = (count * log[j]!) / sum
          people[j]! += posterior
          if (slope) gradient[k]! += posterior * score * grid.points[j]!
        }
      }
      for (const at of group.items)
        for (let j = 0; j < q; j++) {
          const expected = people[j]! * chance[at * q + j]!
          gradient[at]! -= expected
          if (slope) gradient[k]! -= expected * grid.points[j]!
        }
    }
    return { value, gradient }
  }
}
