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
function oneCrew(seed: number, halfDays = false): RosterInstance {
  const random = seededRandom(seed)
  const chance = (p: number) => random.next() < p
  const people = Array.from({ length: 5 + random.below(3) }, (_, i) => ({
    available:
      halfDays && chance(0.5)
        ? [
            {
              date: DAY,
              shift: random.pick(['morning', 'afternoon', 'morning', 'afternoon', 'either'] as const),
            },
          ]
        : null,
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
    seats: positions.slice(0, halfDays ? 4 : 5).map(([position, certificate, duty]) => ({
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
  const seat = instance.seats.find(({ id }) => !taken.some((s) => s.seatId === id))
  if (!seat) {
    yield taken
    return
  }
  const able = (way: number) =>
    instance.people
      .map(({ id }) => id)
      .filter(
        (id) => !taken.some((s) => s.personId === id) && (waysToServe(instance, id, seat.id) & way) !== 0,
      )
  const seating = (personId: string, half: Seating['half']) => ({ seatId: seat.id, personId, half })
  for (const id of able(1)) yield* crewsOf(instance, [...taken, seating(id, 'full')])
  for (const id of able(2))
    for (const other of able(4))
      if (other !== id)
        yield* crewsOf(instance, [...taken, seating(id, 'morning'), seating(other, 'afternoon')])
}

/** Random prices of one crew: what the cheapest of all crews pays, and the bound by the solver and by the checker; null
 *  where no crew can be full. */
function leastAndBounds(instance: RosterInstance, seed: number) {
  const random = seededRandom(1000 + seed)
  const price = instance.people.map(() => random.below(3) * random.below(9000))
  const violation = random.below(20_000)
  let least = Number.POSITIVE_INFINITY
  for (const crew of crewsOf(instance)) {
    const { values } = evaluateRoster(instance, crew)
    const paid = crew.reduce((sum, s) => sum + price[Number(s.personId.slice(1))]!, 0)
    least = Math.min(least, values.cost + violation * values.violations + paid)
  }
  if (least === Number.POSITIVE_INFINITY) return null
  least -= price.reduce((a, b) => a + b, 0)
  const model = compileModel(instance)
  const bound = new LagrangianBound(model, new RosterState(model).unitBits)
  const prices = { ...bound.freshPrices(), violation }
  for (let u = 0; u < model.unitCount; u++) prices.unit[u] = price[model.unitPerson[u]!]!
  const terms = { costFactor: 1, filled: [instance.seats.length], earn: new Float64Array(1) }
  const solver = bound.evaluate({ ...terms, violationFactor: 0, allowedViolations: 0 }, prices).value
  const reader = new Reader(instance)
  const named = Object.fromEntries(price.map((p, i) => [`w${i}|${DAY}`, p]))
  const checker = lagrangian(
    reader,
    reader.kinds(),
    { scale: 1, people: named, classes: [0], minimums: {}, violation },
    { ...terms, earn: [0], ownViolation: 0, allowed: 0, lockedFilled: [0], lockedCost: 0 },
  )
  return { least, solver, checker }
}

describe('the cheapest crew at given prices', () => {
  // Outside value: every crew tried out. A crew that took somebody twice would be cheaper than all of them.
  it('is that of an exhaustive search, for the solver and for the checker', () => {
    let full = 0
    for (let seed = 1; seed <= 150; seed++) {
      const found = leastAndBounds(oneCrew(seed), seed)
      if (!found) continue
      full++
      expect(found.solver, `seed ${seed}`).toBe(found.least)
      expect(found.checker, `seed ${seed}, checker`).toBe(found.least)
    }
    expect(full).toBeGreaterThan(50)
  })

  it('is never above that of an exhaustive search where days are shared, and mostly the same', () => {
    let full = 0
    let same = 0
    for (let seed = 1; seed <= 400; seed++) {
      const found = leastAndBounds(oneCrew(seed, true), seed)
      if (!found) continue
      full++
      if (found.solver === found.least) same++
      expect(found.solver, `seed ${seed}`).toBeLessThanOrEqual(found.least)
      expect(found.checker, `seed ${seed}, checker`).toBe(found.solver)
    }
    expect(full).toBeGreaterThan(50)
    // Not all: the balance of the other half of the day, and somebody in both halves of one seat, are let pass.
    expect(same / full).toBeGreaterThan(0.6)
  })
})
