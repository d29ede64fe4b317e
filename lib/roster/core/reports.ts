/** What a result says of each level: value, bound, gap, and what the bound rests on. */
import type { LevelReport } from '../schema'

export interface LevelFacts {
  filled: number[]
  violations: number
  cost: number
  prefixBound: number[]
  /** Those bounds rest on a search over every way to share seats. */
  sharingSearched: boolean
  pricedSeats: boolean
  bound2: number
  pricedViolations: boolean
  bound3: number
  /** Every roster was tried: what the prices left open is closed by search. */
  searched: boolean
  /** The whole model of level 3, with the seats filled and the violations fixed, was solved to its optimum. */
  costClosed: boolean
  /** The same of level 2. */
  violationsClosed: boolean
  /** The search moved what the bounds of levels 2 and 3 were made for, so they don't count. */
  stale2: boolean
  stale3: boolean
}

export function levelReports(f: LevelFacts): LevelReport[] {
  let reached = 0
  let seatGap = 0
  const prefix = f.filled.map((n, k) => {
    reached += n
    seatGap = Math.max(seatGap, f.prefixBound[k]! - reached)
    return reached
  })
  const search = (gap: number, ...earlier: number[]) => f.searched && [gap, ...earlier].some((g) => g > 0)
  const gap2 = f.violations - f.bound2
  const gap3 = f.cost - f.bound3
  // The search closes what duals left open, and later levels rest on it.
  const one = search(seatGap) || (f.sharingSearched && seatGap === 0)
  const all2 = f.stale2 || search(gap2, seatGap)
  const two = all2 || (f.violationsClosed && gap2 > 0)
  const all3 = f.stale3 || search(gap3, two && !all2 ? 0 : gap2, seatGap)
  const three = all3 || (f.costClosed && gap3 > 0)
  const given1 =
    seatGap === 0 || f.searched ? '' : '; level 1 is open, so this holds for the seats filled here'
  const given2 =
    gap2 === 0 || two ? '' : '; level 2 is open, so this holds for rosters with at most the violations found'
  const bySearch = 'every roster was tried'
  return [
    {
      level: 1,
      name: 'seats',
      value: f.filled,
      bound: one ? prefix : f.prefixBound,
      gap: one ? 0 : seatGap,
      closedBy: one ? 'search' : seatGap === 0 ? 'duals' : 'open',
      basis: one
        ? f.sharingSearched
          ? 'branch and cut over every way to share seats'
          : bySearch
        : f.pricedSeats
          ? 'covers, and prices on people where a hard balance leaves seats empty'
          : 'covers of people and seats (König)',
    },
    {
      level: 2,
      name: 'violations',
      value: [f.violations],
      bound: [two ? f.violations : f.bound2],
      gap: two ? 0 : gap2,
      closedBy: two ? 'search' : gap2 === 0 ? 'duals' : 'open',
      basis: all2
        ? bySearch
        : two
          ? `branch and cut over every arc${given1}`
          : `${f.pricedViolations ? 'prices on people' : 'no roster has fewer than none'}${given1}`,
    },
    {
      level: 3,
      name: 'cost',
      value: [f.cost],
      bound: [three ? f.cost : f.bound3],
      gap: three || f.cost === 0 ? 0 : gap3 / f.cost,
      closedBy: three ? 'search' : gap3 === 0 ? 'duals' : 'open',
      basis: all3
        ? bySearch
        : three
          ? `branch and cut over every arc that prices leave open${given1}${given2}`
          : `prices on people${given1}${given2}`,
    },
  ]
}
