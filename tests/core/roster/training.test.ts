import { describe, expect, it } from 'vitest'
import { type Random, seededRandom } from '@/lib/kernel/random'
import { solveRoster } from '@/lib/roster/core/solve'
import { type TrainingPlan, trainingPlan } from '@/lib/roster/core/training'
import { evaluateRoster } from '@/lib/roster/core/verify'
import type { RosterInstance } from '@/lib/roster/schema'
import { county } from './county'
import { bruteForce, compareValues, type Optimum, type TinyShape, tinyInstance } from './tiny'

const spans = [{ from: '2028-01-01' as never, until: null }]
interface Pair {
  personId: string
  certificate: string
}

const withTraining = (instance: RosterInstance, pairs: readonly Pair[]): RosterInstance => ({
  ...instance,
  people: instance.people.map((p) => ({
    ...p,
    certificates: [
      ...p.certificates,
      ...pairs.filter((e) => e.personId === p.id).map((e) => ({ key: e.certificate, spans })),
    ],
  })),
})

/** A tiny instance in which most people lack a certificate. */
function shortInstance(random: Random, shape: TinyShape): RosterInstance {
  const instance = tinyInstance(random, shape)
  for (const p of instance.people)
    if (random.next() < 0.6) p.certificates = p.certificates.slice(0, random.below(2))
  return instance
}

/** Every set of trainings with the best roster that it allows, by trying all rosters (tiny.ts). Null: too many sets. */
function everySet(instance: RosterInstance): { pairs: Pair[]; best: Optimum }[] | null {
  const missing = instance.people.flatMap((p) =>
    ['clerk', 'lead']
      .filter((key) => !p.certificates.some((c) => c.key === key))
      .map((certificate) => ({ personId: p.id, certificate })),
  )
  if (missing.length > 7) return null
  return Array.from({ length: 1 << missing.length }, (_, set) => {
    const pairs = missing.filter((_, i) => set & (1 << i))
    return { pairs, best: bruteForce(withTraining(instance, pairs)) }
  })
}

const SHAPES: TinyShape[] = [
  {},
  { rules: true },
  { rules: true, precincts: true },
  { rules: true, locks: true },
]
const TRIALS = process.env.TEST_FULL === '1' ? 2000 : 60
const bySeats = (a: Optimum, b: Optimum) =>
  compareValues({ ...a, violations: 0, cost: 0 }, { ...b, violations: 0, cost: 0 })
const least = (ns: number[]) => Math.min(...ns)

describe('a training plan against every set of trainings', () => {
  it('fills the most seats by rank with the fewest trainings, then leaves the fewest violations', () => {
    const random = seededRandom(2029)
    let plans = 0
    let missed = 0
    let mended = 0
    let trained = 0
    for (let trial = 0; trial < TRIALS; trial++) {
      const shape = SHAPES[trial % SHAPES.length]!
      const instance = shortInstance(random, shape)
      const sets = everySet(instance)
      if (!sets) continue
      const result = solveRoster(instance, { workLimit: 0.2 })
      for (const places of [undefined, 0, 1, 2, 3]) {
        const plan = trainingPlan(instance, result, places === undefined ? {} : { places })
        const within = sets.filter((s) => s.pairs.length <= (places ?? 99))
        const most = within.map((s) => s.best).sort(bySeats)[0]!
        const filling = within.filter((s) => bySeats(s.best, most) === 0)
        const fewest = least(filling.map((s) => s.pairs.length))
        const asked = places === undefined ? filling.filter((s) => s.pairs.length === fewest) : filling
        const violations = least(asked.map((s) => s.best.violations))
        const best = asked.filter((s) => s.best.violations === violations)
        const entries = least(best.map((s) => s.pairs.length))
        const where = { trial, places }
        expect({ ...where, seats: plan.after, verified: plan.verified }).toEqual({
          ...where,
          seats: most.seats,
          verified: true,
        })
        if (places === undefined) expect(plan.entries.length).toBe(fewest)
        else expect(plan.entries.length).toBeLessThanOrEqual(places)
        plans++
        // Seats and trainings are exact by method; violations are searched.
        expect(plan.violations.after).toBeGreaterThanOrEqual(violations)
        if (plan.violations.after > violations) {
          missed++
          continue
        }
        expect({ ...where, entries: plan.entries.length }).toEqual({ ...where, entries })
        const planned = evaluateRoster(withTraining(instance, plan.entries), plan.seatings)
        expect(planned.problems).toEqual([])
        if (!shape.rules)
          expect(planned.values.cost).toBe(
            least(best.filter((s) => s.pairs.length === entries).map((s) => s.best.cost)),
          )
        trained += plan.entries.length
        mended += plan.entries.filter((e) => e.mends > 0).length
        checkEffects(plan, sets)
      }
    }
    expect(missed).toBeLessThanOrEqual(Math.floor(plans / 1000))
    expect(trained).toBeGreaterThan(TRIALS)
    expect(mended).toBeGreaterThan(TRIALS / 20)
  }, 600_000)

  /** Without the entry the seats of the classes named are lost, or the best roster breaks so much more. */
  function checkEffects(plan: TrainingPlan, sets: { pairs: Pair[]; best: Optimum }[]): void {
    const keyOf = (pairs: readonly Pair[]) =>
      pairs
        .map((p) => `${p.personId}|${p.certificate}`)
        .sort()
        .join()
    for (const entry of plan.entries) {
      const rest = keyOf(plan.entries.filter((e) => e !== entry))
      const without = sets.find((s) => keyOf(s.pairs) === rest)!.best
      const lost = plan.after.flatMap((n, k) => (n > without.seats[k]! ? [plan.classes[k]!] : []))
      expect(entry.fills.map((f) => f.class)).toEqual(lost)
      if (lost.length > 0) expect(entry.mends).toBe(0)
      else {
        expect(entry.mends).toBeGreaterThan(0)
        expect(entry.mends).toBe(without.violations - plan.violations.after)
      }
    }
  }
})

describe('laws of the training plan', () => {
  it('one more place never fills fewer seats nor, at equal seats, leaves more violations', () => {
    const instance = county({ places: 8, people: 70, seed: 6, leadShare: 0.2 })
    const result = solveRoster(instance, { workLimit: 0.2, searchNodes: 0 })
    const plans = Array.from({ length: 12 }, (_, places) => trainingPlan(instance, result, { places }))
    plans.forEach((plan, places) => {
      expect(plan.verified).toBe(true)
      expect(plan.entries.length).toBeLessThanOrEqual(places)
      const before = plans[places - 1]
      if (!before) return
      const seats = bySeats(
        { seats: plan.after, violations: 0, cost: 0 },
        { seats: before.after, violations: 0, cost: 0 },
      )
      expect(seats).toBeLessThanOrEqual(0)
      if (seats === 0) expect(plan.violations.after).toBeLessThanOrEqual(before.violations.after)
    })
    expect(plans.at(-1)!.violations.after).toBeLessThan(plans[0]!.violations.before)
  })

  it('keeps a hard party balance, with the people holding what the plan trains them in', () => {
    const random = seededRandom(12)
    let entries = 0
    for (let trial = 0; trial < 60; trial++) {
      const instance = shortInstance(random, { hard: true })
      const plan = trainingPlan(instance, solveRoster(instance, { workLimit: 0.2 }))
      expect(plan.verified).toBe(true)
      expect(evaluateRoster(withTraining(instance, plan.entries), plan.seatings).problems).toEqual([])
      entries += plan.entries.length
    }
    expect(entries).toBeGreaterThan(20)
  })
})
