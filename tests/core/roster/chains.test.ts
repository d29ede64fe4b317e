import { describe, expect, it } from 'vitest'
import { type Random, seededRandom } from '@/lib/kernel/random'
import { mendByChains } from '@/lib/roster/core/chains'
import { WHOLE } from '@/lib/roster/core/eligibility'
import type { Model } from '@/lib/roster/core/model'
import { solveOwnPattern } from '@/lib/roster/core/own-pattern'
import { prepareRoster } from '@/lib/roster/core/prepared'
import { seatingsOf } from '@/lib/roster/core/result'
import { solveRoster } from '@/lib/roster/core/solve'
import { arcCostOf, type RosterState } from '@/lib/roster/core/state'
import { evaluateRoster } from '@/lib/roster/core/verify'
import { RosterInstance, type RosterInstanceInput } from '@/lib/roster/schema'
import { ELECTION_DAY } from './county'
import { bruteForce, tinyInstance } from './tiny'

/** People change seats wherever both may, whatever it costs. */
function scramble(model: Model, state: RosterState, random: Random): void {
  for (let i = 0; i < 60; i++) {
    const [s, t] = [random.below(model.seatCount), random.below(model.seatCount)]
    const [u, v] = [state.first[s]!, state.first[t]!]
    if (u < 0 || v < 0 || s === t || state.second[s]! >= 0 || state.second[t]! >= 0) continue
    if (arcCostOf(model, model.seatGroup[t]!, u, WHOLE) < 0) continue
    if (arcCostOf(model, model.seatGroup[s]!, v, WHOLE) < 0) continue
    const breaches = state.hardBreaches()
    state.put(s, 0, v)
    state.put(t, 0, u)
    if (state.hardBreaches() <= breaches) continue
    state.put(s, 0, u)
    state.put(t, 0, v)
  }
}

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
    expect(mendByChains(model, state, solveOwnPattern(model, state, seededRandom(1)))).toBe(1)
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
      const gain = mendByChains(model, state, solveOwnPattern(model, state, seededRandom(1)))
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

  // Outside values: the roster valued anew by the checker.
  it("between them the roster's own pattern costs no more, with prices that whoever sits somewhere pays", () => {
    const random = seededRandom(6)
    let cheaper = 0
    for (let i = 0; i < 300; i++) {
      const instance = tinyInstance(random, {
        rules: true,
        hard: i % 4 === 0,
        halves: i % 3 === 0,
        locks: true,
      })
      const roster = solveRoster(instance, { seed: i, searchNodes: 0, workLimit: 0 })
      const { model, state } = prepareRoster(instance, roster)
      scramble(model, state, random)
      const before = evaluateRoster(instance, seatingsOf(model, state).seatings).values
      const prices = solveOwnPattern(model, state, random)
      const { problems, values } = evaluateRoster(instance, seatingsOf(model, state).seatings)
      expect(problems).toEqual([])
      expect(values.seats).toEqual(before.seats)
      expect(values.cost).toBeLessThanOrEqual(before.cost)
      if (!state.hasPairs) expect(values.violations).toBeLessThanOrEqual(before.violations)
      if (values.cost < before.cost) cheaper++
      for (let seat = 0; seat < model.seatCount; seat++) {
        const unit = state.first[seat]!
        if (unit < 0 || state.second[seat]! >= 0) continue
        const cost = arcCostOf(model, model.seatGroup[seat]!, unit)
        expect(prices.unit[unit]! + cost).toBe(prices.seat[seat])
      }
    }
    expect(cheaper).toBeGreaterThan(5)
  })
})
