/** A small mixed-integer model as data: columns, rows, and its text in the CPLEX LP format. Pure; a solver is handed in
 *  by whoever has one (`MipSolver`). */

export interface MipAnswer {
  /** `infeasible` also covers a cutoff that nothing beats. `limit`: stopped by the node limit. */
  status: 'optimal' | 'infeasible' | 'limit' | 'failed'
  /** Best solution, in column order; null when there is none. */
  values: Float64Array | null
  objective: number
  /** Proven bound on the objective (lower for min, upper for max). */
  bound: number
  /** Of a model without whole columns: the dual of each row (at most 0 where an upper side holds a minimum up). */
  rowDuals: Float64Array | null
}

export interface MipLimits {
  nodes: number
  /** Only a solution at least this good is of interest. */
  cutoff?: number
  /** A solution known already, in column order. */
  start?: ArrayLike<number>
  /** Stop when value and bound are this close, as a share; default 0. */
  gap?: number
}

/** Solves a model; synchronous. Deterministic for the same model and limits. */
export type MipSolver = (model: MipModel, limits: MipLimits) => MipAnswer

export class MipModel {
  readonly cost: number[] = []
  readonly lower: number[] = []
  readonly upper: number[] = []
  readonly whole: boolean[] = []
  readonly rows: { columns: number[]; factors: number[]; lower: number; upper: number }[] = []

  constructor(public sense: 'min' | 'max' = 'min') {}

  column(cost: number, lower: number, upper: number, whole: boolean): number {
    this.cost.push(cost)
    this.lower.push(lower)
    this.upper.push(upper)
    this.whole.push(whole)
    return this.cost.length - 1
  }

  /** lower ≤ Σ factor × column ≤ upper. Returns the row's number. */
  row(columns: number[], factors: number[], lower: number, upper: number): number {
    this.rows.push({ columns, factors, lower, upper })
    return this.rows.length - 1
  }

  /** The model in LP format; the objective names every column, so that a reader keeps their order. */
  toLp(): string {
    const term = (f: number, c: number) => `${f < 0 ? '-' : '+'} ${Math.abs(f)} x${c}`
    const wrap = (terms: string[]) => {
      const lines: string[] = []
      for (let i = 0; i < terms.length; i += 12) lines.push(terms.slice(i, i + 12).join(' '))
      return lines.join('\n')
    }
    const out = [
      this.sense === 'min' ? 'Minimize' : 'Maximize',
      `obj: ${wrap(this.cost.map(term))}`,
      'Subject To',
    ]
    this.rows.forEach((r, i) => {
      if (r.columns.length === 0) return
      const sum = wrap(r.columns.map((c, j) => term(r.factors[j]!, c)))
      if (r.lower === r.upper) out.push(`r${i}: ${sum} = ${r.lower}`)
      else {
        if (Number.isFinite(r.lower)) out.push(`r${i}l: ${sum} >= ${r.lower}`)
        if (Number.isFinite(r.upper)) out.push(`r${i}u: ${sum} <= ${r.upper}`)
      }
    })
    out.push('Bounds')
    this.cost.forEach((_, c) => {
      const low = Number.isFinite(this.lower[c]!) ? this.lower[c] : '-inf'
      const high = Number.isFinite(this.upper[c]!) ? this.upper[c] : '+inf'
      out.push(`${low} <= x${c} <= ${high}`)
    })
    const whole = this.whole.flatMap((w, c) => (w ? [`x${c}`] : []))
    if (whole.length > 0) out.push('General', wrap(whole))
    out.push('End')
    return out.join('\n')
  }
}
