/** A candidate question with what the search needs. */
export interface Candidate {
  id: string
  expected: number
  /** How often drawn, less the least drawn of its cell. */
  exposure: number
  topics: readonly string[]
  /** Indices of earlier forms that had it. */
  earlier: readonly number[]
}
export interface Problem {
  cells: { count: number; candidates: Candidate[] }[]
  /** Largest number of questions in common with each earlier form. */
  overlapLimit: number
  earlierForms: number
  topics: { topic: string; count: number }[]
  /** Sum of expected points to reach, and by how much it may be missed. */
  target: number
  tolerance: number
}

/** How far a choice is from keeping every rule, in questions (expected score: in points). 0 = kept. */
export function violationOf(p: Problem, chosen: readonly (readonly Candidate[])[]): number {
  const common = new Array<number>(p.earlierForms).fill(0)
  let expected = 0
  const have = p.topics.map(() => 0)
  for (const cell of chosen)
    for (const c of cell) {
      expected += c.expected
      for (const form of c.earlier) common[form]!++
      for (const [i, t] of p.topics.entries()) if (c.topics.includes(t.topic)) have[i]!++
    }
  let violation = 0
  for (const n of common) violation += Math.max(0, n - p.overlapLimit)
  p.topics.forEach((t, i) => {
    violation += Math.max(0, t.count - have[i]!)
  })
  return violation + Math.max(0, Math.abs(expected - p.target) - p.tolerance)
}
