import { betaConsistency, binomialAtLeast } from './decision-consistency'

export interface ClassificationReport {
  method: 'Livingston & Lewis 1995'
  /** Items of 0/1 that a test of this reliability would have: the effective test length. */
  effectiveLength: number
  /** Chance of the same verdict on two parallel forms. */
  agreement: number
  /** Agreement beyond chance, at most 1; `null` where everybody surely passes or surely fails. */
  kappa: number | null
  /** Chance that the verdict is the one that the true score would get. */
  accuracy: number
  /** Share of people who pass though their true score is below the cut, and the other way round. */
  falsePasses: number
  falseFails: number
}

export interface ScoreSpread {
  mean: number
  /** Population variance of the scores. */
  variance: number
  /** 0 to 1. */
  reliability: number
  least: number
  most: number
}

/** The length of a test of 0/1 items with the same mean, variance and reliability on the same scale, as a real number:
 *  ((mean − least)(most − mean) − r × variance) ÷ (variance × (1 − r)). Source: Livingston & Lewis 1995, J. Educ. Meas.
 *  32:179, eq. 1 (from memory; our tests check that it gives the number of items back where KR-21 is the reliability). */
export const effectiveLength = ({ mean, variance, reliability: r, least, most }: ScoreSpread): number =>
  ((mean - least) * (most - mean) - r * variance) / (variance * (1 - r))

/** Consistency and accuracy of pass and fail for any score scale (partial credit, weights, forms that differ in their
 *  questions), from one sitting. True scores are taken as beta on [least, most] with the mean of the scores and
 *  r × their variance; the score of another form is binomial with the effective length. Livingston and Lewis fit a beta
 *  of four parameters; ours has two (its ends are the ends of the scale), as Hanson and Brennan (1990) do where the
 *  other has no solution. `cut`: the least score that passes. `null` where the spread or the reliability leaves nothing
 *  to estimate. O(length²). @throws RangeError where the cut is not on the scale */
export function livingstonLewis(spread: ScoreSpread, cut: number): ClassificationReport | null {
  const { mean, variance, reliability: r, least, most } = spread
  if (!(cut >= least && cut <= most)) throw new RangeError('the cut lies on the scale')
  if (!(r > 0 && r < 1) || !(variance > 0) || !(mean > least && mean < most)) return null
  const width = most - least
  const m = (mean - least) / width
  const v = (r * variance) / width ** 2
  const sum = (m * (1 - m)) / v - 1
  const length = Math.round(effectiveLength(spread))
  if (!(sum > 0) || length < 1) return null
  const alpha = m * sum
  const beta = (1 - m) * sum
  const share = (cut - least) / width
  const points = Math.ceil(length * share - 1e-9)
  const { agreement, kappa } = betaConsistency(alpha, beta, length, points)

  let whole = 0
  let falsePasses = 0
  let falseFails = 0
  for (let i = 0; i < STEPS; i++) {
    // Midpoints in p = sin²(t), which takes the density's poles at the ends away.
    const t = ((i + 0.5) / STEPS) * (Math.PI / 2)
    const p = Math.sin(t) ** 2
    const density = Math.sin(t) ** (2 * alpha - 1) * Math.cos(t) ** (2 * beta - 1)
    const passes = binomialAtLeast(length, p, points)
    whole += density
    if (p >= share) falseFails += density * (1 - passes)
    else falsePasses += density * passes
  }
  falsePasses /= whole
  falseFails /= whole
  return {
    method: 'Livingston & Lewis 1995',
    effectiveLength: length,
    agreement,
    kappa,
    accuracy: 1 - falsePasses - falseFails,
    falsePasses,
    falseFails,
  }
}

const STEPS = 2000
