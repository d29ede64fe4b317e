import { describe, expect, it } from 'vitest'
import { seededRandom } from '@/lib/kernel/random'
import { LagrangianBound } from '@/lib/roster/core/bound'
import { compileModel } from '@/lib/roster/core/model'
import { RosterState } from '@/lib/roster/core/state'
import { evaluateRoster, waysToServe } from '@/lib/roster/core/verify'
import { lagrangian } from '@/lib/roster/core/verify-proof'
import { Reader } from '@/lib/roster/core/verify-reader'
import { RosterInstance, type RosterInstanceInput, type Seating } from '@/lib/roster/schema'

const DAY = '2028-11-07'
const spans = [{ from: '2028-01-01', until: null }]

/** One place whose seats ask for much the same people: whoever is cheap is cheap for several of them. */
function oneCrew(seed: number): RosterInstance {
  const random = seededRandom(seed)
  const chance = (p: number) => random.next() < p
  const people = Array.from({ length: 5 + random.below(3) }, (_, i) => ({
    id: `w${i}`,
    at: [41 + random.next() * 0.2, -92] as [number, number],
    party: random.pick(['Elm', 'Oak', null, 'Elm', 'Oak']),
    certificates: [
      ...(chance(0.9) ? [{ key: 'clerk', spans }] : []),
      ...(chance(0.7) ? [{ key: 'lead', spans }] : []),
      ...(chance(0.6) ? [{ key: 'machine', spans }] : []),
    ],
  }))
  const positions = [
    ['lead', 'lead', 'lead'],
    ['deputy', 'lead', 'deputy'],
    ['check-in', 'clerk', null],
    ['ballots', 'clerk', null],
    ['scanner', 'machine', null],
  ] as const
  return RosterInstance.parse({
    people,
    places: [{ id: 'p0', at: [41, -92] }],
    seats: positions.map(([position, certificate, duty]) => ({
      id: position,
      placeId: 'p0',
      position,
      tier: 'minimum',
      certificate,
      duty,
      date: DAY,
    })),
    rules: {
      balance: { parties: ['Elm', 'Oak'], maxDifference: 1, mode: 'soft', weight: 2 },
      leadDeputySameParty: 3,
    },
  } as unknown as RosterInstanceInput)
}

/** Every full crew. */
function* crewsOf(instance: RosterInstance, taken: Seating[] = []): Generator<Seating[]> {
  const seat = instance.seats[taken.length]
  if (!seat) yield taken
  else
    for (const { id } of instance.people)
      if (!taken.some((s) => s.personId === id) && waysToServe(instance, id, seat.id) & 1)
        yield* crewsOf(instance, [...taken, { seatId: seat.id, personId: id, half: 'full' }])
}

describe('the cheapest crew at given prices', () => {
  // Outside value: every crew tried out. A crew that took somebody twice would be cheaper than all of them.
  it('is that of an exhaustive search, for the solver and for the checker', () => {
    let full = 0
    for (let seed = 1; seed <= 150; seed++) {
      const instance = oneCrew(seed)
      const random = seededRandom(1000 + seed)
      const price = instance.people.map(() => random.below(3) * random.below(9000))
      const violation = random.below(20_000)
      let least = Number.POSITIVE_INFINITY
      for (const crew of crewsOf(instance)) {
        const { values } = evaluateRoster(instance, crew)
        const paid = crew.reduce((sum, s) => sum + price[Number(s.personId.slice(1))]!, 0)
        least = Math.min(least, values.cost + violation * values.violations + paid)
      }
      if (least === Number.POSITIVE_INFINITY) continue
      full++
      least -= price.reduce((a, b) => a + b, 0)
      const model = compileModel(instance)
      const bound = new LagrangianBound(model, new RosterState(model).unitBits)
      const prices = { ...bound.freshPrices(), violation }
      for (let u = 0; u < model.unitCount; u++) prices.unit[u] = price[model.unitPerson[u]!]!
      const terms = { costFactor: 1, filled: [5], earn: new Float64Array(1) }
      const spec = { ...terms, violationFactor: 0, allowedViolations: 0 }
      expect(bound.evaluate(spec, prices).value, `seed ${seed}`).toBe(least)
      const reader = new Reader(instance)
      const named = Object.fromEntries(price.map((p, i) => [`w${i}|${DAY}`, p]))
      const checked = lagrangian(
        reader,
        reader.kinds(),
        { scale: 1, people: named, classes: [0], minimums: {}, violation },
        { ...terms, earn: [0], ownViolation: 0, allowed: 0, lockedFilled: [0], lockedCost: 0 },
      )
      expect(checked, `seed ${seed}, checker`).toBe(least)
    }
    expect(full).toBeGreaterThan(50)
  })
})
