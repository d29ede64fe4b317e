import { ENOUGH_ANSWERS } from './enough'
import { twoSidedTail } from './normal'

export interface PeriodCount {
  right: number
  people: number
}
export interface Drift {
  id: string
  /** Change of the logit of p, less the median change of all questions (people as a whole may get better). Positive:
   *  the question became easier than the others did, as a leaked one does. */
  change: number
  z: number
  pValue: number
  /** `null` where there are too few answers in either period. */
  drifted: boolean | null
}

/** Which questions changed between two periods. Logits with ½ added to each count (Haldane 1956, from memory), variance
 *  the sum of the reciprocals; a question drifts where its two-sided chance is below 1 % after Bonferroni's division by
 *  the number of questions. O(questions log questions). */
export function driftOf(
  questions: readonly { id: string; before: PeriodCount; after: PeriodCount }[],
): Drift[] {
  const raw = questions.map((q) => {
    const cells = [q.before, q.after].map((c) => [c.right + 0.5, c.people - c.right + 0.5] as const)
    const [before, after] = cells.map(([r, w]) => Math.log(r / w)) as [number, number]
    const variance = cells.reduce((s, [r, w]) => s + 1 / r + 1 / w, 0)
    return { q, difference: after - before, variance }
  })
  const sorted = raw.map((r) => r.difference).sort((a, b) => a - b)
  const mid = Math.floor(sorted.length / 2)
  const median =
    sorted.length === 0 ? 0 : sorted.length % 2 === 1 ? sorted[mid]! : (sorted[mid - 1]! + sorted[mid]!) / 2
  return raw.map(({ q, difference, variance }) => {
    const change = difference - median
    const z = change / Math.sqrt(variance)
    const pValue = twoSidedTail(z)
    const few = Math.min(q.before.people, q.after.people) < ENOUGH_ANSWERS
    return { id: q.id, change, z, pValue, drifted: few ? null : pValue < 0.01 / questions.length }
  })
}
