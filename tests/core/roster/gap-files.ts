import { readFileSync } from 'node:fs'
import path from 'node:path'
import type { GeneralisedAssignment } from '@/lib/roster/core/generalised-assignment'

/** Reads OR-Library GAP files (P problems: m n, costs, weights, capacities). */
export function readGap(file: string, sense: 'min' | 'max'): GeneralisedAssignment[] {
  const text = readFileSync(
    path.join(import.meta.dirname, '../../reference/assignment/orlib-gap', file),
    'utf8',
  )
  const numbers = text.trim().split(/\s+/).map(Number)
  // The first number is the count of problems.
  let at = 1
  const problems: GeneralisedAssignment[] = []
  while (at < numbers.length) {
    const m = numbers[at++]!
    const n = numbers[at++]!
    const table = () =>
      Array.from({ length: m }, () => {
        const row = numbers.slice(at, at + n)
        at += n
        return row
      })
    const values = table()
    const weights = table()
    const capacities = numbers.slice(at, at + m)
    at += m
    problems.push({ sense, values, weights, capacities })
  }
  return problems
}
