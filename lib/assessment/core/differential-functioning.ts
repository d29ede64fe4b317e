import { chiSquareTail1 } from './normal'
import type { Responses } from './responses'

/** One stratum: [[reference right, reference wrong], [focal right, focal wrong]]. */
export type TwoByTwo = readonly [readonly [number, number], readonly [number, number]]

export interface MantelHaenszel {
  /** Common odds ratio; above 1 where the reference group does better at equal total. `null` where it is 0/0. */
  oddsRatio: number | null
  /** With the continuity correction (½, and none where the difference itself is below ½), 1 degree of freedom. */
  chiSquare: number | null
  pValue: number | null
  /** −2.35 × ln(odds ratio): negative where the focal group does worse. */
  delta: number | null
  /** Strata with people of both groups and both outcomes possible. */
  strata: number
}

/** The Mantel–Haenszel test and common odds ratio over strata. O(strata).
 *  Source: Mantel & Haenszel 1959, J. Natl Cancer Inst. 22:719; delta: Holland & Thayer 1988. Agrees with R's
 *  `mantelhaen.test(correct = TRUE)`. */
export function mantelHaenszel(tables: readonly TwoByTwo[]): MantelHaenszel {
  let observed = 0
  let expected = 0
  let variance = 0
  let top = 0
  let bottom = 0
  let strata = 0
  for (const [[a, b], [c, d]] of tables) {
    const n = a + b + c + d
    // Fewer than two people carry no information (and would divide by 0).
    if (n < 2) continue
    const one = ((a + b) * (a + c)) / n
    const v = ((a + b) * (c + d) * (a + c) * (b + d)) / (n * n * (n - 1))
    observed += a
    expected += one
    variance += v
    top += (a * d) / n
    bottom += (b * c) / n
    if (v > 0) strata++
  }
  const off = Math.abs(observed - expected)
  const corrected = off - (off >= 0.5 ? 0.5 : 0)
  const chiSquare = variance > 0 ? (corrected * corrected) / variance : null
  const oddsRatio = bottom > 0 ? top / bottom : top > 0 ? Number.POSITIVE_INFINITY : null
  return {
    oddsRatio,
    chiSquare,
    pValue: chiSquare === null ? null : chiSquareTail1(chiSquare),
    delta: oddsRatio === null ? null : -2.35 * Math.log(oddsRatio),
    strata,
  }
}

export interface ItemFunctioning extends MantelHaenszel {
  /** A negligible, B moderate, C large (the usual three classes, from memory: C is |delta| ≥ 1.5 and significant, A is
   *  |delta| < 1 or not significant at 5 %). `null` where there are too few people to say. */
  size: 'A' | 'B' | 'C' | null
}

/** Least people in each group for a verdict on an item (common practice). */
export const ENOUGH_PER_GROUP = 100

/** Differential functioning of each item between two groups (language versions), matched on the total score with the
 *  item itself included (Holland & Thayer 1988). Only people who had every item are used. O(people × items).
 *  @throws RangeError where the groups don't have the same items or a mark is neither 0 nor 1 */
export function differentialFunctioning(
  reference: Responses,
  focal: Responses,
  enough = ENOUGH_PER_GROUP,
): { items: ItemFunctioning[]; referencePeople: number; focalPeople: number } {
  if (reference.items !== focal.items) throw new RangeError('both groups need the same items')
  const k = reference.items
  // right[group][total × items + item], people[group][total]
  const tally = (r: Responses) => {
    const right = new Float64Array((k + 1) * k)
    const people = new Float64Array(k + 1)
    let n = 0
    for (let row = 0; row < r.rows; row++) {
      const marks = r.marks.subarray(row * k, (row + 1) * k)
      if (marks.some(Number.isNaN)) continue
      if (marks.some((m) => m !== 0 && m !== 1)) throw new RangeError('this test takes marks of 0 and 1 only')
      const total = marks.reduce((s, m) => s + m, 0)
      const count = r.counts[row]!
      people[total]! += count
      n += count
      for (let i = 0; i < k; i++) right[total * k + i]! += marks[i]! * count
    }
    return { right, people, n }
  }
  const a = tally(reference)
  const b = tally(focal)
  const items = Array.from({ length: k }, (_, i): ItemFunctioning => {
    const tables = Array.from({ length: k + 1 }, (_, t): TwoByTwo => {
      const ra = a.right[t * k + i]!
      const rb = b.right[t * k + i]!
      return [
        [ra, a.people[t]! - ra],
        [rb, b.people[t]! - rb],
      ]
    })
    const test = mantelHaenszel(tables)
    return { ...test, size: a.n < enough || b.n < enough ? null : sizeOf(test) }
  })
  return { items, referencePeople: a.n, focalPeople: b.n }
}

/** One item where people had different forms: matched by `stratum` (how many of their own questions they answered right).
 *  O(answers). */
export function itemFunctioning(
  answers: readonly { focal: boolean; stratum: number; right: boolean }[],
  enough = ENOUGH_PER_GROUP,
): ItemFunctioning {
  const tables = new Map<number, [[number, number], [number, number]]>()
  const people = [0, 0]
  for (const { focal, stratum, right } of answers) {
    const group = focal ? 1 : 0
    const table = tables.get(stratum) ?? [
      [0, 0],
      [0, 0],
    ]
    table[group][right ? 0 : 1]++
    tables.set(stratum, table)
    people[group]!++
  }
  const test = mantelHaenszel([...tables.values()])
  return { ...test, size: Math.min(...people) < enough ? null : sizeOf(test) }
}

function sizeOf({ delta, pValue }: MantelHaenszel): 'A' | 'B' | 'C' | null {
  if (delta === null || pValue === null) return null
  if (Math.abs(delta) < 1 || pValue >= 0.05) return 'A'
  return Math.abs(delta) >= 1.5 ? 'C' : 'B'
}
