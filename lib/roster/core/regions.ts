/** Splits a county into regions of neighbouring crews: halved across its longer side until each is small enough. */
import type { Model } from './model'

/** Crews of each region, at most `most` each. `share` is where a halving cuts first (0.5: in the middle), so that two
 *  splits with different shares have their borders in different places. Deterministic. O(crews log² crews). */
export function regionsOf(model: Model, most: number, share = 0.5): number[][] {
  const { places } = model.instance
  const at = model.crews.map((c) => places[c.place]!.at ?? [0, 0])
  // Degrees of longitude are shorter than those of latitude.
  const narrow = Math.cos(((at[0]?.[0] ?? 0) * Math.PI) / 180)
  const split = (crews: number[], cut: number): number[][] => {
    if (crews.length <= most) return crews.length > 0 ? [crews] : []
    const span = (i: 0 | 1) => {
      let low = Number.POSITIVE_INFINITY
      let high = Number.NEGATIVE_INFINITY
      for (const c of crews) {
        low = Math.min(low, at[c]![i]!)
        high = Math.max(high, at[c]![i]!)
      }
      return high - low
    }
    const axis = span(0) >= span(1) * narrow ? 0 : 1
    const sorted = [...crews].sort((x, y) => at[x]![axis]! - at[y]![axis]! || x - y)
    const middle = Math.max(1, Math.round(sorted.length * cut))
    return [...split(sorted.slice(0, middle), 0.5), ...split(sorted.slice(middle), 0.5)]
  }
  return split(
    model.crews.flatMap((c, i) => (c.groups.length > 0 ? [i] : [])),
    share,
  )
}
