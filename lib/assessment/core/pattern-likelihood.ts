import type { Likelihood } from './likelihood'
import type { Grid } from './quadrature'
import type { Responses } from './responses'
import { softplus } from './score-likelihood'

/** Marginal log-likelihood where every item has its own slope: by answer pattern. Parameters: k intercepts, k slopes.
 *  Neighbouring items are taken together: what any answers to a handful of them add at each point is summed once an
 *  evaluation, so that a pattern costs one row of points a handful instead of one an item (the way of Arlazarov et al.
 *  1970, Soviet Math. Dokl. 11:1209). Handfuls of which a person had nothing cost nothing.
 *  O((patterns × handfuls had + handfuls × 256) × points). */
export function patternLikelihood(r: Responses, used: readonly number[], grid: Grid): Likelihood {
  const k = used.length
  const q = grid.points.length
  const { handfuls, rows, codes, counts, starts } = packed(r, used)
  const logWeights = grid.weights.map(Math.log)

  return (x) => {
    // Of each item: what wrong and right add to the logarithm at each point, beside 0 for 'not put'.
    const wrong = new Float64Array(k * q)
    const right = new Float64Array(k * q)
    const chance = new Float64Array(k * q)
    for (let at = 0; at < k; at++)
      for (let j = 0; j < q; j++) {
        const e = x[k + at]! * grid.points[j]! + x[at]!
        wrong[at * q + j] = -softplus(e)
        right[at * q + j] = e + wrong[at * q + j]!
        chance[at * q + j] = 1 / (1 + Math.exp(-e))
      }
    const table = new Float64Array(rows * q)
    // Row by row from the row without the last item that was put: one addition a point.
    for (const h of handfuls)
      for (let code = 1; code < h.steps; code++) {
        const { item, mark, rest } = h.last[code]!
        const own = mark === RIGHT ? right : wrong
        const to = (h.from + code) * q
        const before = (h.from + rest) * q
        const of = (h.first + item) * q
        for (let j = 0; j < q; j++) table[to + j] = table[before + j]! + own[of + j]!
      }
    // Expected people by what they answered to each handful, at each point.
    const expected = new Float64Array(rows * q)
    const log = new Float64Array(q)
    let value = 0
    for (let pattern = 0; pattern < counts.length; pattern++) {
      const begin = starts[pattern]!
      const end = starts[pattern + 1]!
      log.set(logWeights)
      for (let c = begin; c < end; c++) {
        const from = codes[c]! * q
        for (let j = 0; j < q; j++) log[j]! += table[from + j]!
      }
      let high = Number.NEGATIVE_INFINITY
      for (let j = 0; j < q; j++) if (log[j]! > high) high = log[j]!
      let sum = 0
      for (let j = 0; j < q; j++) {
        const weight = Math.exp(log[j]! - high)
        log[j] = weight
        sum += weight
      }
      value += counts[pattern]! * (high + Math.log(sum))
      const share = counts[pattern]! / sum
      for (let j = 0; j < q; j++) log[j]! *= share
      for (let c = begin; c < end; c++) {
        const from = codes[c]! * q
        for (let j = 0; j < q; j++) expected[from + j]! += log[j]!
      }
    }
    const gradient = new Float64Array(2 * k)
    const residual = new Float64Array(q)
    for (const h of handfuls)
      for (let item = 0; item < h.size; item++) {
        const at = h.first + item
        residual.fill(0)
        for (let code = 1; code < h.steps; code++) {
          const mark = h.marks[code]![item]!
          if (mark === NOT_PUT) continue
          const from = (h.from + code) * q
          const one = mark === RIGHT ? 1 : 0
          for (let j = 0; j < q; j++) residual[j]! += expected[from + j]! * (one - chance[at * q + j]!)
        }
        for (let j = 0; j < q; j++) {
          gradient[at]! += residual[j]!
          gradient[k + at]! += residual[j]! * grid.points[j]!
        }
      }
    return { value, gradient }
  }
}

const NOT_PUT = 0
const WRONG = 1
const RIGHT = 2
/** Three to the fifth: as many rows as a byte counts. */
const HANDFUL = 5

interface Handful {
  /** Position (in `used`) of its first item, and how many it has. */
  first: number
  size: number
  /** Its first row in the table, and how many: 3 to the power of its size. Row 0: nothing of it was put. */
  from: number
  steps: number
  /** The answers that a row stands for. */
  marks: number[][]
  /** A row's last item that was put, and the row that is the same without it. */
  last: { item: number; mark: number; rest: number }[]
}

/** Equal patterns once, each as the table rows of the handfuls that it had something of. */
function packed(r: Responses, used: readonly number[]) {
  const handfuls: Handful[] = []
  let rows = 0
  for (let first = 0; first < used.length; first += HANDFUL) {
    const size = Math.min(HANDFUL, used.length - first)
    const steps = 3 ** size
    const marks = Array.from({ length: steps }, (_, code) =>
      Array.from({ length: size }, (_, item) => Math.floor(code / 3 ** item) % 3),
    )
    const last = marks.map((own, code) => {
      const item = own.findLastIndex((mark) => mark !== NOT_PUT)
      return { item, mark: own[item] ?? NOT_PUT, rest: item < 0 ? 0 : code - own[item]! * 3 ** item }
    })
    handfuls.push({ first, size, from: rows, steps, marks, last })
    rows += steps
  }
  const patterns = new Map<string, { own: number[]; count: number }>()
  for (let row = 0; row < r.rows; row++) {
    const own: number[] = []
    for (const h of handfuls) {
      let code = 0
      for (let item = 0; item < h.size; item++) {
        const m = r.marks[row * r.items + used[h.first + item]!]!
        if (!Number.isNaN(m)) code += (m === 1 ? RIGHT : WRONG) * 3 ** item
      }
      if (code > 0) own.push(h.from + code)
    }
    const key = own.join()
    const same = patterns.get(key)
    if (same) same.count += r.counts[row]!
    else patterns.set(key, { own, count: r.counts[row]! })
  }
  const list = [...patterns.values()]
  const starts = new Int32Array(list.length + 1)
  for (const [i, { own }] of list.entries()) starts[i + 1] = starts[i]! + own.length
  return {
    handfuls,
    rows,
    starts,
    codes: Int32Array.from(list.flatMap(({ own }) => own)),
    counts: Float64Array.from(list, ({ count }) => count),
  }
}
