import { describe, expect, it } from 'vitest'
import { seededRandom } from '@/lib/kernel/random'
import { mendByChains } from '@/lib/roster/core/chains'
import { prepareRoster } from '@/lib/roster/core/prepared'
import { seatingsOf } from '@/lib/roster/core/result'
import { solveRoster } from '@/lib/roster/core/solve'
import { evaluateRoster } from '@/lib/roster/core/verify'
import { RosterInstance, type RosterInstanceInput } from '@/lib/roster/schema'
import { ELECTION_DAY } from './county'
import { bruteForce, tinyInstance } from './tiny'

describe('chains of exchanges', () => {
  it('bring a speaker from two places away, through the one between', () => {
    // A place every 10 km to the north, two seats each; nobody travels further than 12 km.
    const at = (place: number): [number, number] => [41 + place * 0.09, -92]
    const person = (id: string, place: number, languages: string[] = []) => ({
      id,
      at: at(place),
      languages,
      maxTravelKm: 12,
    })
    const instance = RosterInstance.parse({
      people: [
        person('a', 0),
        person('b', 0),
        person('c', 1, ['es']),
        person('d', 1),
        person('e', 2, ['es']),
        person('f', 2, ['es']),
      ],
      places: [0, 1, 2].map((p) => ({ id: `p${p}`, at: at(p) })),
      seats: [0, 1, 2].flatMap((p) =>
        [0, 1].map((n) => ({ id: `p${p}-${n}`, placeId: `p${p}`, position: 'clerk', date: ELECTION_DAY })),
      ),
      rules: { minimums: [{ kind: 'language', value: 'es' }] },
    } as unknown as RosterInstanceInput)
    const seatings = ['a', 'b', 'c', 'd', 'e', 'f'].map((personId, i) => ({
      personId,
      seatId: `p${Math.floor(i / 2)}-${i % 2}`,
      half: 'full' as const,
    }))
    const { model, state } = prepareRoster(instance, { seatings })
    expect(state.violations()).toBe(1)
    expect(mendByChains(model, state)).toBe(1)
    const after = seatingsOf(model, state)
    expect(after.empty).toEqual([])
    expect(evaluateRoster(instance, after.seatings)).toMatchObject({
      problems: [],
      values: { violations: 0 },
    })
  })

  // Outside values: the optimum of an exhaustive search, and the roster valued anew by the checker.
  it('keep rosters allowed, fill the same seats, and mend what they say', () => {
    const random = seededRandom(5)
    let mended = 0
    for (let i = 0; i < 400; i++) {
      const instance = tinyInstance(random, {
        rules: true,
        hard: i % 4 === 0,
        halves: i % 3 === 0,
        locks: true,
      })
      const roster = solveRoster(instance, { seed: i, searchNodes: 0, workLimit: 0 })
      const before = evaluateRoster(instance, roster.seatings)
      const { model, state } = prepareRoster(instance, roster)
      const gain = mendByChains(model, state)
      const after = evaluateRoster(instance, seatingsOf(model, state).seatings)
      expect(after.problems).toEqual([])
      expect(after.values.seats).toEqual(before.values.seats)
      expect(after.values.violations).toBe(before.values.violations - gain)
      const best = bruteForce(instance)
      if (String(best.seats) === String(after.values.seats))
        expect(after.values.violations).toBeGreaterThanOrEqual(best.violations)
      mended += gain
    }
    expect(mended).toBeGreaterThan(20)
  })
})
