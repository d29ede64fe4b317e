/** Sides of a violation in the roster's mixed-integer model (mip-roster.ts): it is at least each of them. */

/** constant + Σ factor × column. */
export interface Side {
  columns: number[]
  factors: number[]
  constant: number
}

/** Where somebody of a pair may be on a date. */
export interface Where {
  /** Columns that seat the person on the date. */
  columns: number[]
  /** Place where the person is in any case, or −1. */
  fixed: number
}

/** A pair is kept apart: at each place, both are there. Kept together: one is there and the other elsewhere. */
export function pairSides(x: Where, y: Where, apart: boolean, placeOf: (column: number) => number): Side[] {
  const places = new Set([...x.columns.map(placeOf), ...(x.fixed >= 0 ? [x.fixed] : [])])
  return [...places].flatMap((place) => {
    const here = x.columns.filter((c) => placeOf(c) === place)
    const other = y.columns.filter((c) => (placeOf(c) === place) === apart)
    const fixedOther = y.fixed >= 0 && (y.fixed === place) === apart ? 1 : 0
    const constant = (x.fixed === place ? 1 : 0) + fixedOther - 1
    if (here.length + (x.fixed === place ? 1 : 0) === 0 || other.length + fixedOther === 0) return []
    return [{ columns: [...here, ...other], factors: [...here, ...other].map(() => 1), constant }]
  })
}

/** The same with each column once; those whose factors cancel out are left out. */
export function netted({ columns, factors, constant }: Side): Side {
  const sum = new Map<number, number>()
  columns.forEach((x, i) => void sum.set(x, (sum.get(x) ?? 0) + factors[i]!))
  const kept = [...sum].filter(([, f]) => f !== 0)
  return { columns: kept.map(([x]) => x), factors: kept.map(([, f]) => f), constant }
}
