/** Level 2 by counting: where fewer people meet a minimum (a language, a skill, experience) than crews need of them
 *  within reach, the difference is missing in every roster.
 *
 *  For each minimum: crews' needs against the people who meet it, a matching; its cover (König) as prices of the
 *  Lagrangian bound (bound.ts). People reached from needs left open, and the minimums of the crews reached, cost the
 *  weight of the violation: a crew gains nothing by taking somebody reached, and L sums needs reached less people
 *  reached, which is what must be missing. Minimums add up. O(needs × arcs) at worst. */
import { Assignment, largestMatching } from './assign'
import type { LagrangianBound } from './bound'
import type { Prices } from './bound-spec'
import { crewTablesOf } from './crew-tables'
import { coverOf } from './level-one'
import type { Model } from './model'

/** Prices for a violation of one `scale`. */
export function countingPrices(bound: LagrangianBound, scale: number): Prices {
  const { model } = bound
  const prices = bound.freshPrices()
  const slots = new Map<number, { crew: number; slot: number; need: number }[]>()
  bound.crews.forEach((info, crew) => {
    for (const { minimum, slot, need } of info.slots)
      slots.set(minimum, [...(slots.get(minimum) ?? []), { crew, slot, need }])
  })
  for (const [minimum, list] of slots) {
    const weight = scale * model.instance.rules.minimums[minimum]!.weight
    const problem = needsOf(model, minimum, list)
    const { columnOf } = largestMatching(problem)
    if (!columnOf.includes(-1)) continue
    const cover = coverOf(problem, columnOf, 0)
    for (const unit of cover.units) prices.unit[unit] = prices.unit[unit]! + weight
    const covered = new Set(cover.rows.map((row) => problem.rowList[row]!))
    list.forEach(({ slot }, i) => {
      if (!covered.has(i)) prices.minimum[slot] = weight
    })
  }
  return prices
}

/** A row for each member that a crew needs; its columns: whoever meets the minimum and may sit in the crew. */
function needsOf(model: Model, minimum: number, list: readonly { crew: number; need: number }[]): Assignment {
  const { unitBits } = crewTablesOf(model)
  const start = new Int32Array(list.length + 1)
  const column: number[] = []
  const seen = new Int32Array(model.unitCount).fill(-1)
  list.forEach(({ crew }, i) => {
    for (const g of model.crews[crew]!.groups)
      for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
        const unit = model.arcUnit[a]!
        if (seen[unit] === i || (unitBits[unit]! & (1 << minimum)) === 0) continue
        seen[unit] = i
        column.push(unit)
      }
    start[i + 1] = column.length
  })
  const rows = Int32Array.from(list.flatMap(({ need }, i) => new Array<number>(need).fill(i)))
  const blank = (n: number) => new Uint8Array(n)
  return new Assignment(
    {
      start,
      column: Int32Array.from(column),
      cost: new Int32Array(column.length),
      kind: blank(column.length),
    },
    model.unitCount,
    rows,
    blank(rows.length).fill(1),
    new Int32Array(rows.length),
    blank(rows.length).fill(7),
    new Int32Array(rows.length),
    model.unitParty,
    new Int32Array(model.unitCount),
    model.unitLocked,
    1,
  )
}
