import type { Candidate, Problem } from './draw-problem'

export type TreeOutcome =
  | { status: 'found'; chosen: Candidate[][] }
  /** There is no form: every branch was closed. */
  | { status: 'none' }
  | { status: 'gave-up' }

/** Depth-first search over the cells' questions, least exposed first, with a branch closed as soon as the overlap
 *  limit is passed, or the topics or the expected score can't be reached any more by what is left. Finds a form if
 *  there is one, not the least exposed one. At most `nodeLimit` nodes. */
export function searchByTree(p: Problem, nodeLimit = 200_000): TreeOutcome {
  const cells = p.cells.map((cell) => ({
    count: cell.count,
    candidates: [...cell.candidates].sort((a, b) => a.exposure - b.exposure || (a.id < b.id ? -1 : 1)),
  }))
  // What the cells after cell i can still add, at least and at most.
  const after = cells.map(() => ({ low: 0, high: 0, topics: p.topics.map(() => 0) }))
  for (let i = cells.length - 2; i >= 0; i--) {
    const { count, candidates } = cells[i + 1]!
    const sorted = candidates.map((c) => c.expected).sort((a, b) => a - b)
    const sum = (list: number[]) => list.reduce((s, v) => s + v, 0)
    after[i] = {
      low: after[i + 1]!.low + sum(sorted.slice(0, count)),
      high: after[i + 1]!.high + sum(sorted.slice(sorted.length - count)),
      topics: p.topics.map(
        (t, k) =>
          after[i + 1]!.topics[k]! +
          Math.min(count, candidates.filter((c) => c.topics.includes(t.topic)).length),
      ),
    }
  }
  const common = new Array<number>(p.earlierForms).fill(0)
  const have = p.topics.map(() => 0)
  const chosen: Candidate[][] = cells.map(() => [])
  let expected = 0
  let nodes = 0
  let gaveUp = false

  function visit(cell: number, from: number): boolean {
    if (cell === cells.length) return true
    const { count, candidates } = cells[cell]!
    const missing = count - chosen[cell]!.length
    if (missing === 0) {
      const left = after[cell]!
      if (expected + left.high < p.target - p.tolerance || expected + left.low > p.target + p.tolerance)
        return false
      if (p.topics.some((t, i) => have[i]! + left.topics[i]! < t.count)) return false
      return visit(cell + 1, 0)
    }
    for (let i = from; i <= candidates.length - missing; i++) {
      if (++nodes > nodeLimit) {
        gaveUp = true
        return false
      }
      const c = candidates[i]!
      if (c.earlier.some((form) => common[form]! >= p.overlapLimit)) continue
      for (const form of c.earlier) common[form]!++
      for (const [k, t] of p.topics.entries()) if (c.topics.includes(t.topic)) have[k]!++
      expected += c.expected
      chosen[cell]!.push(c)
      if (visit(cell, i + 1)) return true
      chosen[cell]!.pop()
      expected -= c.expected
      for (const [k, t] of p.topics.entries()) if (c.topics.includes(t.topic)) have[k]!--
      for (const form of c.earlier) common[form]!--
      if (gaveUp) return false
    }
    return false
  }

  if (visit(0, 0)) return { status: 'found', chosen }
  return { status: gaveUp ? 'gave-up' : 'none' }
}
