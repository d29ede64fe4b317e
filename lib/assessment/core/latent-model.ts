import type { Likelihood } from './likelihood'
import { minimise } from './minimise'
import { patternLikelihood } from './pattern-likelihood'
import { normalGrid } from './quadrature'
import type { Responses } from './responses'
import { scoreLikelihood } from './score-likelihood'

/** rasch: discrimination fixed at 1. one-parameter: one discrimination for all items. two-parameter: one for each. */
export type LatentModel = 'rasch' | 'one-parameter' | 'two-parameter'

export interface LatentFit {
  model: LatentModel
  /** Ability at which half answer right, in standard deviations of ability. `null` for an item that everybody or
   *  nobody answered right (or had): the data don't bound it. */
  difficulties: (number | null)[]
  discriminations: (number | null)[]
  /** Natural logarithm of the marginal likelihood of the people's patterns. */
  logLikelihood: number
  /** Standard errors from the observed information (delta method), where asked for. */
  difficultyErrors: (number | null)[] | null
  discriminationErrors: (number | null)[] | null
  iterations: number
}

/** Fits P(right | θ) = 1 / (1 + e^(−a(θ − b))) by marginal maximum likelihood with θ standard normal; items not put to
 *  a person are left out of that person's likelihood. The mean of ability is 0 and its standard deviation 1, which
 *  fixes the scale. Gradient by Fisher's identity, quasi-Newton steps. Marks must be 0 or 1.
 *  Cost of one evaluation: Rasch and one-parameter O((scores × sets of items had + items) × points), because the number
 *  right is sufficient; two-parameter O(patterns × items / 5 × points).
 *  Source: Bock & Lieberman 1970, Psychometrika 35:179; Bock & Aitkin 1981, Psychometrika 46:443.
 *  @throws RangeError on a mark between 0 and 1, on no item that varies, or where the fit doesn't converge (too few
 *  people for the model) */
export function fitLatentModel(
  r: Responses,
  model: LatentModel,
  options: { errors?: boolean; onShare?: (share: number) => void } = {},
): LatentFit {
  const right = new Float64Array(r.items)
  const had = new Float64Array(r.items)
  for (let row = 0; row < r.rows; row++)
    for (let i = 0; i < r.items; i++) {
      const m = r.marks[row * r.items + i]!
      if (Number.isNaN(m)) continue
      if (m !== 0 && m !== 1) throw new RangeError('this model takes marks of 0 and 1 only')
      right[i]! += m * r.counts[row]!
      had[i]! += r.counts[row]!
    }
  const used = [...right.keys()].filter((i) => right[i]! > 0 && right[i]! < had[i]!)
  if (used.length === 0) throw new RangeError('no item was answered right by some and wrong by others')
  if (model !== 'rasch' && used.length < 2)
    throw new RangeError('a discrimination needs at least two items that vary')
  const k = used.length
  const slopes = model === 'rasch' ? 0 : model === 'one-parameter' ? 1 : k
  const grid = normalGrid(k)
  const likelihood: Likelihood =
    model === 'two-parameter'
      ? patternLikelihood(r, used, grid)
      : scoreLikelihood(r, used, grid, slopes === 1)
  const start = new Float64Array(k + slopes).fill(1)
  // Logits widened by what a normal ability of deviation 1 flattens (Camilli 1994, J. Educ. Behav. Stat. 19:293).
  used.forEach((i, at) => {
    start[at] = 1.16 * Math.log(right[i]! / (had[i]! - right[i]!))
  })
  const negative = (x: Float64Array) => {
    const { value, gradient } = likelihood(x)
    return { value: -value, gradient: gradient.map((g) => -g) }
  }
  const best = minimise(
    negative,
    start,
    1 / (0.15 * r.people),
    1e-7 * Math.max(10, r.people),
    undefined,
    options.onShare,
  )
  const slopeAt = (at: number) => (slopes === 0 ? 1 : best.at[slopes === 1 ? k : k + at]!)
  if (!best.converged || used.some((_, at) => !(Math.abs(slopeAt(at)) < 25) || slopeAt(at) === 0))
    throw new RangeError('the fit does not settle: too few answers for this model')

  const spread = (values: (at: number) => number): (number | null)[] => {
    const out = new Array<number | null>(r.items).fill(null)
    used.forEach((item, at) => {
      out[item] = values(at)
    })
    return out
  }
  const difficultyAt = (at: number) => -best.at[at]! / slopeAt(at)
  const covariance = options.errors ? invert(information(negative, best.at)) : null
  const n = k + slopes
  return {
    model,
    difficulties: spread(difficultyAt),
    discriminations: spread(slopeAt),
    logLikelihood: -best.value,
    difficultyErrors:
      covariance &&
      spread((at) => {
        // b = −d/a: ∂b/∂d = −1/a, ∂b/∂a = d/a² = −b/a.
        const a = slopeAt(at)
        const dd = covariance[at * n + at]!
        if (slopes === 0) return Math.sqrt(dd)
        const s = slopes === 1 ? k : k + at
        const b = difficultyAt(at)
        return (
          Math.sqrt(Math.max(0, dd + 2 * b * covariance[at * n + s]! + b * b * covariance[s * n + s]!)) /
          Math.abs(a)
        )
      }),
    discriminationErrors:
      covariance &&
      spread((at) => {
        const s = slopes === 1 ? k : k + at
        return slopes === 0 ? 0 : Math.sqrt(Math.max(0, covariance[s * n + s]!))
      }),
    iterations: best.iterations,
  }
}

/** Chance of a right answer at this ability. */
export const chanceRight = (ability: number, difficulty: number, discrimination = 1): number =>
  1 / (1 + Math.exp(-discrimination * (ability - difficulty)))

/** Observed information by central differences of the gradient, made symmetric. */
function information(negative: Likelihood, at: Float64Array): Float64Array {
  const n = at.length
  const out = new Float64Array(n * n)
  const h = 1e-4
  for (let j = 0; j < n; j++) {
    const up = Float64Array.from(at)
    const down = Float64Array.from(at)
    up[j]! += h
    down[j]! -= h
    const a = negative(up).gradient
    const b = negative(down).gradient
    for (let i = 0; i < n; i++) {
      const d = (a[i]! - b[i]!) / (4 * h)
      out[i * n + j]! += d
      out[j * n + i]! += d
    }
  }
  return out
}

/** Inverse of a symmetric positive definite matrix by Gauss–Jordan without pivoting.
 *  @throws RangeError where it is not positive definite */
function invert(m: Float64Array): Float64Array {
  const n = Math.round(Math.sqrt(m.length))
  const a = Float64Array.from(m)
  for (let k = 0; k < n; k++) {
    const pivot = a[k * n + k]!
    if (!(pivot > 0)) throw new RangeError('the information is not positive definite: too few answers')
    a[k * n + k] = 1
    for (let j = 0; j < n; j++) a[k * n + j]! /= pivot
    for (let i = 0; i < n; i++) {
      if (i === k) continue
      const factor = a[i * n + k]!
      if (factor === 0) continue
      a[i * n + k] = 0
      for (let j = 0; j < n; j++) a[i * n + j]! -= factor * a[k * n + j]!
    }
  }
  return a
}
