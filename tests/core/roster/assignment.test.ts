import { readFileSync } from 'node:fs'
import path from 'node:path'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '@/lib/kernel/random'
import { solveDenseAssignment } from '@/lib/roster/core/dense-assignment'
import { loadMipSolver } from '@/lib/roster/mip'
import { denseOf } from './assignment-classes'
import { denseModelOf } from './assignment-models'

const folder = path.join(import.meta.dirname, '../../reference/assignment/orlib-assign')
const numbers = (file: string) =>
  readFileSync(path.join(folder, file), 'utf8').trim().split(/\s+/).map(Number)

describe('the assignment core', () => {
  // Optima: OR-Library (J.E. Beasley), re-derived with R clue::solve_LSAP as the SOURCE note says.
  it.each([
    ['assign100.txt', 305],
    ['assign200.txt', 475],
    ['assign300.txt', 626],
    ['assign400.txt', 804],
  ])('reaches the published optimum of %s', (file, optimum) => {
    const [n, ...rest] = numbers(file)
    const costs = Array.from({ length: n! }, (_, r) => rest.slice(r * n!, (r + 1) * n!))
    expect(solveDenseAssignment(costs, 'min').value).toBe(optimum)
  })

  // HiGHS on the linear model, written in assignment-models.ts.
  it.each([
    ['min', 'whole', 60, 60, (cost: number) => cost],
    [
      'max',
      'negative and decimal, half of them missing',
      40,
      60,
      (cost: number) => (cost % 2 === 0 ? null : (cost - 60) / 8),
    ],
    ['min', 'of only three sorts', 50, 55, (cost: number) => (cost % 3) - 1],
    ['max', 'large', 30, 90, (cost: number) => cost * 1e7 - 3e8],
  ] as const)('finds the %s that HiGHS finds on costs that are %s', (sense, _, rows, columns, of) => {
    const mip = loadMipSolver()
    for (const seed of [1, 2]) {
      const costs = denseOf(rows, columns, seed).map((row) => row.map(of))
      const { value, assignment } = solveDenseAssignment(costs, sense)
      expect(new Set(assignment).size).toBe(rows)
      expect(assignment.reduce((sum, c, r) => sum + costs[r]![c]!, 0)).toBe(value)
      expect(value).toBeCloseTo(mip(denseModelOf(costs, sense), { nodes: 1 }).objective, 6)
    }
  })

  it('names the rows that compete where no assignment is complete', () => {
    // By hand: rows 0 and 2 allow column 1 alone.
    const costs = [
      [null, 4, null],
      [1, 2, 3],
      [null, 5, null],
    ]
    expect(() => solveDenseAssignment(costs)).toThrow('rows 0, 2 allow no columns but 1')
    expect(() => solveDenseAssignment([[null, null]])).toThrow('row 0 allows no column')
  })

  it('equals brute force on small tables with forbidden pairs, both senses', () => {
    const random = seededRandom(7)
    for (let trial = 0; trial < 600; trial++) {
      const rows = 1 + random.below(5)
      const columns = rows + random.below(3)
      const costs = Array.from({ length: rows }, () =>
        Array.from({ length: columns }, () => (random.next() < 0.25 ? null : random.below(40) - 10)),
      )
      const sense = random.pick(['min', 'max'] as const)
      const sign = sense === 'min' ? 1 : -1
      let best = Number.POSITIVE_INFINITY
      const place = (r: number, used: number, sum: number) => {
        if (r === rows) {
          best = Math.min(best, sum)
          return
        }
        for (let c = 0; c < columns; c++)
          if (!(used & (1 << c)) && costs[r]![c] !== null)
            place(r + 1, used | (1 << c), sum + sign * costs[r]![c]!)
      }
      place(0, 0, 0)
      if (best === Number.POSITIVE_INFINITY)
        expect(() => solveDenseAssignment(costs, sense)).toThrow(RangeError)
      else expect(sign * solveDenseAssignment(costs, sense).value).toBe(best)
    }
  })
})
