/** The marks of people on items: `marks[row × items + item]`, 0 to 1 (0 or 1 for the latent models), `NaN` where the
 *  item was not put to them; each row stands for `counts[row]` people with the same marks. */
export interface Responses {
  readonly items: number
  readonly rows: number
  /** Σ counts. */
  readonly people: number
  readonly marks: Float64Array
  readonly counts: Float64Array
}

export interface Pattern {
  marks: readonly (number | null)[]
  count: number
}

/** From one list of marks per person. `null` = not put to this person.
 *  @throws RangeError where there is nobody, no item, a ragged list or a mark outside 0 to 1 */
export const responsesFromMarks = (marks: readonly (readonly (number | null)[])[]): Responses =>
  responsesFromPatterns(marks.map((m) => ({ marks: m, count: 1 })))

/** From patterns with how often each occurred (0 is allowed). @throws RangeError as `responsesFromMarks` */
export function responsesFromPatterns(patterns: readonly Pattern[]): Responses {
  const used = patterns.filter((p) => p.count > 0)
  const items = patterns[0]?.marks.length ?? 0
  if (used.length === 0 || items === 0) throw new RangeError('there must be at least one person and one item')
  if (patterns.some((p) => p.marks.length !== items))
    throw new RangeError('every row needs a mark (or null) for each item')
  const marks = new Float64Array(used.length * items)
  const counts = new Float64Array(used.length)
  used.forEach((p, row) => {
    counts[row] = p.count
    p.marks.forEach((m, item) => {
      if (m !== null && !(m >= 0 && m <= 1)) throw new RangeError('a mark is from 0 to 1, or null')
      marks[row * items + item] = m ?? Number.NaN
    })
  })
  return { items, rows: used.length, people: counts.reduce((s, c) => s + c, 0), marks, counts }
}
