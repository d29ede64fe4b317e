import { describe, expect, it } from 'vitest'
import { seededRandom } from '@/lib/kernel/random'
import { solveRoster } from '@/lib/roster/core/solve'
import { verifyRoster } from '@/lib/roster/core/verify'
import { loadMipSolver } from '@/lib/roster/mip'
import { bruteForce, type TinyShape, tinyInstance } from './tiny'

const SHAPES: Record<string, TinyShape> = {
  'certificates and travel only': {},
  'every soft rule': { rules: true },
  'two precincts in one place': { rules: true, precincts: true },
  locks: { rules: true, locks: true },
  'a hard balance': { hard: true },
  'a hard balance with locks': { hard: true, locks: true },
  'half days': { halves: true },
  'half days and soft rules': { halves: true, rules: true },
  'half days and locks of half a seat': { halves: true, rules: true, locks: true },
  'half days, a hard balance, locks and precincts': {
    halves: true,
    hard: true,
    locks: true,
    precincts: true,
  },
}
const TRIALS = process.env.TEST_FULL === '1' ? 1500 : 30

describe('tiny rosters against every possible roster', () => {
  it.each(Object.entries(SHAPES))('equal the optimum at each level and pass the checker: %s', (_, shape) => {
    const random = seededRandom(2028)
    for (let trial = 0; trial < TRIALS; trial++) {
      const instance = tinyInstance(random, shape)
      const result = solveRoster(instance, { seed: trial, workLimit: 0.3 })
      const best = bruteForce(instance)
      expect({
        trial,
        seats: result.levels[0]!.value,
        violations: result.levels[1]!.value[0],
        cost: result.levels[2]!.value[0],
      }).toEqual({ trial, ...best })
      expect(result.status).toBe('optimal')
      expect(verifyRoster(instance, result).problems).toEqual([])
    }
  })

  it.each(Object.entries(SHAPES))(
    'equal the optimum with the mixed-integer solver in place of the search: %s',
    async (_, shape) => {
      const random = seededRandom(4711)
      const mip = loadMipSolver()
      for (let trial = 0; trial < TRIALS; trial++) {
        const instance = tinyInstance(random, shape)
        const result = solveRoster(instance, { seed: trial, workLimit: 1, searchNodes: 0, mip })
        const best = bruteForce(instance)
        expect(verifyRoster(instance, result).problems).toEqual([])
        const [one, two, three] = result.levels
        // Sharing is searched where covers leave it open, but not under a hard balance.
        if (shape.hard && String(one!.value) !== String(best.seats)) {
          expect(one!.closedBy).toBe('open')
          continue
        }
        expect({ trial, seats: one!.value }).toEqual({ trial, seats: best.seats })
        if (!shape.hard) expect(one!.gap).toBe(0)
        expect(two!.bound![0]!).toBeLessThanOrEqual(best.violations)
        if (two!.value[0] !== best.violations) {
          expect({ trial, closed: two!.closedBy }).toEqual({ trial, closed: 'open' })
          continue
        }
        expect(three!.bound![0]!).toBeLessThanOrEqual(best.cost)
        expect({ trial, cost: three!.value[0] }).toEqual({ trial, cost: best.cost })
      }
    },
  )

  it('bounds never pass the optimum when the search that closes tiny instances is left out', () => {
    const random = seededRandom(99)
    for (let trial = 0; trial < TRIALS; trial++) {
      const instance = tinyInstance(random, {
        rules: true,
        locks: trial % 2 === 0,
        halves: trial % 3 === 0,
        hard: trial % 5 === 0,
      })
      const result = solveRoster(instance, { seed: trial, workLimit: 0.3, searchNodes: 0 })
      const best = bruteForce(instance)
      expect(verifyRoster(instance, result).problems).toEqual([])
      // Whom two people may share a seat with, and what a hard balance leaves empty, is searched in small counties.
      if (JSON.stringify(result.levels[0]!.value) !== JSON.stringify(best.seats)) {
        expect(trial % 3 === 0 || trial % 5 === 0).toBe(true)
        continue
      }
      expect(result.levels[1]!.bound![0]!).toBeLessThanOrEqual(best.violations)
      if (result.levels[1]!.value[0] === best.violations)
        expect(result.levels[2]!.bound![0]!).toBeLessThanOrEqual(best.cost)
    }
  })
})
