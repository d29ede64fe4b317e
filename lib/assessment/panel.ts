/** What a panel keeps, and what follows from it. Pure. */
import { z } from 'zod'
import { angoffCutScore, type CutScore } from './core/cut-score'

export const PanelItem = z.strictObject({
  id: z.string(),
  kind: z.enum(['question', 'story']),
  version: z.int(),
  /** Points in one form. */
  weight: z.number().positive(),
})
export type PanelItem = z.infer<typeof PanelItem>
export const Judge = z.strictObject({ role: z.string() })
export type Judge = z.infer<typeof Judge>
/** Share of just-qualified people who are right, by round, judge and item; null: not rated yet. */
export type PanelRatings = [(number | null)[][], (number | null)[][]]

export const noRatings = (judges: number, items: number): PanelRatings => {
  const empty = () => Array.from({ length: judges }, () => new Array<number | null>(items).fill(null))
  return [empty(), empty()]
}

export const hasRated = (ratings: PanelRatings, round: 1 | 2, judge: number): boolean =>
  ratings[round - 1]?.[judge]?.every((value) => value !== null) ?? false

/** The cut of one round; null while a judge has not rated everything. */
export function cutOf(items: readonly PanelItem[], ratings: PanelRatings, round: 1 | 2): CutScore | null {
  const all = ratings[round - 1]!
  if (all.some((row) => row.some((value) => value === null))) return null
  return angoffCutScore(
    all as number[][],
    items.map((item) => item.weight),
  )
}

export const pointsOf = (items: readonly PanelItem[]): number =>
  items.reduce((sum, item) => sum + item.weight, 0)

/** The pass marks that a county may adopt from a panel: its mean, and one standard error lower or higher. Whole percent. */
export function adoptable(items: readonly PanelItem[], cut: CutScore): { key: string; fraction: number }[] {
  const error = (cut.standardError ?? 0) / pointsOf(items)
  const whole = (share: number) => Math.min(1, Math.max(0, Math.round(share * 100) / 100))
  return [
    { key: 'lower', fraction: whole(cut.fraction - error) },
    { key: 'mean', fraction: whole(cut.fraction) },
    { key: 'higher', fraction: whole(cut.fraction + error) },
  ]
}
