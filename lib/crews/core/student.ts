/** Quantile of the standard normal distribution, |error| < 1.2e-9 relative. `p` in (0, 1).
 *  Source: P. J. Acklam's rational approximation (coefficients from memory, checked in the tests against tables). */
export function normalQuantile(p: number): number {
  if (!(p > 0 && p < 1)) throw new RangeError(`p must lie between 0 and 1, not ${p}`)
  if (p > 0.5) return -normalQuantile(1 - p)
  const tail = p < 0.02425
  const q = tail ? Math.sqrt(-2 * Math.log(p)) : p - 0.5
  const poly = (x: number, cs: readonly number[]) => cs.reduce((sum, c) => sum * x + c, 0)
  if (tail)
    return (
      poly(
        q,
        [
          -7.784894002430293e-3, -0.3223964580411365, -2.400758277161838, -2.549732539343734,
          4.374664141464968, 2.938163982698783,
        ],
      ) / poly(q, [7.784695709041462e-3, 0.3224671290700398, 2.445134137142996, 3.754408661907416, 1])
    )
  const r = q * q
  return (
    (poly(
      r,
      [
        -39.69683028665376, 220.9460984245205, -275.9285104469687, 138.357751867269, -30.66479806614716,
        2.506628277459239,
      ],
    ) *
      q) /
    poly(
      r,
      [-54.47609879822406, 161.5858368580409, -155.6989798598866, 66.80131188771972, -13.28068155288572, 1],
    )
  )
}

/** Quantile of Student's t with `df` degrees of freedom, by its expansion around the normal one (four terms; under
 *  0.1 % off from 10 degrees of freedom on for p from 0.001 to 0.999).
 *  Source: Abramowitz & Stegun 26.7.5 (from memory, checked in the tests against tables). */
export function studentQuantile(p: number, df: number): number {
  const z = normalQuantile(p)
  const z2 = z * z
  return (
    z +
    (z * (z2 + 1)) / (4 * df) +
    (z * ((5 * z2 + 16) * z2 + 3)) / (96 * df ** 2) +
    (z * (((3 * z2 + 19) * z2 + 17) * z2 - 15)) / (384 * df ** 3) +
    (z * ((((79 * z2 + 776) * z2 + 1482) * z2 - 1920) * z2 - 945)) / (92160 * df ** 4)
  )
}

/** A mean with its confidence interval over independent repetitions. */
export interface Estimate {
  mean: number
  low: number
  high: number
}

/** Mean and two-sided confidence interval of independent values (sample variance, ÷ n−1). One value: no width is
 *  known, so the interval is everything. O(n). */
export function estimate(values: readonly number[], confidence: number): Estimate {
  const n = values.length
  const mean = values.reduce((a, b) => a + b, 0) / n
  if (n < 2) return { mean, low: Number.NEGATIVE_INFINITY, high: Number.POSITIVE_INFINITY }
  const variance = values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (n - 1)
  const half = studentQuantile((1 + confidence) / 2, n - 1) * Math.sqrt(variance / n)
  return { mean, low: mean - half, high: mean + half }
}
