export interface CutScore {
  judges: number
  items: number
  /** Cut in points: mean over judges of the sum of their ratings. */
  mean: number
  /** The same as a share of all points. */
  fraction: number
  /** Standard error of the mean over judges: sample deviation (÷ (n − 1)) of their sums ÷ √n. `null` for one judge. */
  standardError: number | null
  byJudge: number[]
  /** Mean rating of each item, and the spread (sample deviation) between judges. */
  byItem: { mean: number; spread: number | null }[]
}

/** Modified Angoff: `ratings[judge][item]` is the share of just-qualified people whom the judge expects to answer
 *  right, 0 to 1 (of a part with partial credit: the share of its points). `weights`: points of each item, 1 each when left
 *  out. O(judges × items). Source: Angoff 1971, in Thorndike (ed.), Educational Measurement, 2nd ed., 508–600
 *  (from memory). @throws RangeError where there is no rating, the rows differ in length, or a rating is outside 0–1 */
export function angoffCutScore(
  ratings: readonly (readonly number[])[],
  weights?: readonly number[],
): CutScore {
  const judges = ratings.length
  const items = ratings[0]?.length ?? 0
  if (judges === 0 || items === 0) throw new RangeError('there must be at least one judge and one item')
  if (ratings.some((r) => r.length !== items)) throw new RangeError('every judge rates every item')
  if (ratings.some((r) => r.some((v) => !(v >= 0 && v <= 1)))) throw new RangeError('a rating is from 0 to 1')
  if (weights && (weights.length !== items || weights.some((w) => !(w > 0))))
    throw new RangeError('every item has a weight above 0')
  const weightOf = (item: number) => weights?.[item] ?? 1
  const points = Array.from({ length: items }, (_, i) => weightOf(i)).reduce((s, w) => s + w, 0)
  const byJudge = ratings.map((r) => r.reduce((s, v, i) => s + v * weightOf(i), 0))
  const mean = byJudge.reduce((s, v) => s + v, 0) / judges
  const deviation = (values: readonly number[]): number | null => {
    if (values.length < 2) return null
    const m = values.reduce((s, v) => s + v, 0) / values.length
    return Math.sqrt(values.reduce((s, v) => s + (v - m) ** 2, 0) / (values.length - 1))
  }
  const spread = deviation(byJudge)
  return {
    judges,
    items,
    mean,
    fraction: mean / points,
    standardError: spread === null ? null : spread / Math.sqrt(judges),
    byJudge,
    byItem: Array.from({ length: items }, (_, i) => {
      const own = ratings.map((r) => r[i]!)
      return { mean: own.reduce((s, v) => s + v, 0) / judges, spread: deviation(own) }
    }),
  }
}
