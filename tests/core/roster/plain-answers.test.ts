import { describe, expect, it } from 'vitest'
import { seededRandom } from '@/lib/kernel/random'
import { explainEmptySeats } from '@/lib/roster/core/explain'
import { prepareRoster } from '@/lib/roster/core/prepared'
import { solveRoster } from '@/lib/roster/core/solve'
import { trainingPlan } from '@/lib/roster/core/training'
import { waysToServe } from '@/lib/roster/core/verify'
import type { RosterInstance } from '@/lib/roster/schema'
import { county } from './county'
import { tinyInstance } from './tiny'

// The fast answers against plain ones: sets grown until nothing changes, and rosters solved again.

/** Everybody who could take a seat, every seat that they hold, everybody for those, and so on. */
function closure(instance: RosterInstance, holderOf: Map<string, string>, start: string) {
  const seats = new Set([start])
  const people = new Set<string>()
  const seatOf = new Map([...holderOf].map(([seat, person]) => [person, seat]))
  for (const seat of seats)
    for (const p of instance.people)
      if (waysToServe(instance, p.id, seat) & 1) {
        people.add(p.id)
        const held = seatOf.get(p.id)
        if (held) seats.add(held)
      }
  return { seats: [...seats].sort(), people: [...people].sort() }
}

const withCertificate = (
  instance: RosterInstance,
  added: readonly { personId: string; certificate: string }[],
) => ({
  ...instance,
  people: instance.people.map((p) => ({
    ...p,
    certificates: [
      ...p.certificates,
      ...added
        .filter((e) => e.personId === p.id)
        .map((e) => ({ key: e.certificate, spans: [{ from: '2028-01-01' as never, until: null }] })),
    ],
  })),
})

const filledBy = (instance: RosterInstance) =>
  solveRoster(instance, { workLimit: 0, searchNodes: 0 }).levels[0]!.value

describe('explanations and training plans by plain means', () => {
  const random = seededRandom(77)
  const instances = [
    ...Array.from({ length: 160 }, () => tinyInstance(random, {})),
    ...[1, 2, 3].map((seed) => county({ places: 5, people: 24, seed, leadShare: 0.15, rules: false })),
  ]

  it('the witness of a seat is all that chains of changes reach', () => {
    let witnesses = 0
    for (const instance of instances) {
      const result = solveRoster(instance, { workLimit: 0.1, searchNodes: 0 })
      const holders = new Map(result.seatings.map((s) => [s.seatId, s.personId]))
      for (const e of explainEmptySeats(prepareRoster(instance, result))) {
        if (e.reason !== 'too-few-people') continue
        witnesses++
        expect({ seats: [...e.seats].sort(), people: [...e.people].sort() }).toEqual(
          closure(instance, holders, e.seatId),
        )
      }
    }
    expect(witnesses).toBeGreaterThan(30)
  })

  it('a plan solved again fills what it says, and each entry is worth the seat of the class it names', () => {
    let entries = 0
    for (const instance of instances) {
      const result = solveRoster(instance, { workLimit: 0.1, searchNodes: 0 })
      const plan = trainingPlan(instance, result)
      const after = filledBy(withCertificate(instance, plan.entries))
      expect(after).toEqual(plan.after)
      for (const entry of plan.entries) {
        entries++
        const without = filledBy(
          withCertificate(
            instance,
            plan.entries.filter((e) => e !== entry),
          ),
        )
        const lost = after.flatMap((n, k) => (n > without[k]! ? [plan.classes[k]!] : []))
        expect(lost).toEqual(entry.fills.map((f) => f.class))
      }
    }
    expect(entries).toBeGreaterThan(30)
  })
})
