import type { Judgement, OrderStep, SpotStep } from '../schema'

/** What a judgement is worth, 0 to 1. House rule (common practice): half marks for what works but isn't best. */
export const POINTS: Record<Judgement, number> = { sound: 1, workable: 0.5, mistake: 0, critical: 0 }

/** Worse judgements have the higher number. */
export const SEVERITY: Record<Judgement, number> = { sound: 0, workable: 1, mistake: 2, critical: 3 }

export interface Partial {
  /** 0 to 1. */
  fraction: number
  judgement: Judgement
}

const judgementOf = (fraction: number, critical: boolean): Judgement =>
  critical ? 'critical' : fraction === 1 ? 'sound' : fraction >= 0.5 ? 'workable' : 'mistake'

/** Marks a scene: hits ÷ wrong things − false alarms ÷ right things, at least 0, so that marking everything earns
 *  nothing. Where nothing is right, hits ÷ wrong things. Source: Youden 1950, Cancer 3:32 (the index J). */
export function markSpot(step: Pick<SpotStep, 'things'>, marked: readonly string[]): Partial {
  const wrong = step.things.filter((t) => t.wrong)
  const right = step.things.filter((t) => !t.wrong)
  const share = (things: readonly { id: string }[]) =>
    things.length === 0 ? 0 : things.filter((t) => marked.includes(t.id)).length / things.length
  const fraction = Math.max(0, share(wrong) - share(right))
  const missedCritical = wrong.some((t) => t.critical && !marked.includes(t.id))
  return { fraction, judgement: judgementOf(fraction, missedCritical) }
}

/** Marks an order: (pairs in order − pairs out of order) ÷ pairs whose order matters, at least 0. Items of equal rank
 *  don't count as a pair. O(n²). Source: Kendall 1938, Biometrika 30:81 (tau); with ties left out, Goodman & Kruskal
 *  1954, JASA 49:732 (gamma). */
export function markOrder(step: Pick<OrderStep, 'items' | 'critical'>, order: readonly string[]): Partial {
  const rank = new Map(step.items.map((item, i) => [item.id, item.rank ?? i + 1]))
  let inOrder = 0
  let outOfOrder = 0
  for (let i = 0; i < order.length; i++)
    for (let j = i + 1; j < order.length; j++) {
      const before = rank.get(order[i]!)!
      const after = rank.get(order[j]!)!
      if (before < after) inOrder++
      else if (before > after) outOfOrder++
    }
  const pairs = inOrder + outOfOrder
  const fraction = pairs === 0 ? 1 : Math.max(0, (inOrder - outOfOrder) / pairs)
  const swapped = step.critical.some((c) => order.indexOf(c.before) > order.indexOf(c.after))
  return { fraction, judgement: judgementOf(fraction, swapped) }
}
