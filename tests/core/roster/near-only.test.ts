import { describe, expect, it } from 'vitest'
import { solveRoster } from '@/lib/roster/core/solve'
import { trainingPlan } from '@/lib/roster/core/training'
import { nearOnly } from '@/lib/roster/plan'
import { county } from './county'

/** Kilometres on a flat map, by hand: 111.2 a degree, longitudes narrower by the cosine. Good to a percent in one county. */
const flatKm = (a: readonly [number, number], b: readonly [number, number]) =>
  Math.hypot((a[0] - b[0]) * 111.2, (a[1] - b[1]) * 111.2 * Math.cos((a[0] * Math.PI) / 180))

describe('the training plan of a county too large to look at every pair', () => {
  const instance = county({ places: 12, people: 110, seed: 5, leadShare: 0.1, rules: false })
  const { seatings, empty } = solveRoster(instance, { workLimit: 0 })
  const near = nearOnly(instance, seatings, { mostPairs: 0, peopleNear: 25 })
  const reachKm = near.reachKm!

  it('looks at whatever a smaller county has', () => {
    expect(nearOnly(instance, seatings)).toEqual({ instance, reachKm: null })
  })

  it('reaches so many people from the place of the middle sort', () => {
    const counts = instance.places
      .map((place) => instance.people.filter((p) => flatKm(p.at!, place.at!) < reachKm * 0.99).length)
      .sort((a, b) => a - b)
    expect(counts[5]).toBeLessThanOrEqual(25)
    expect(counts[7]).toBeGreaterThanOrEqual(20)
  })

  it('keeps those who sit further away, and plans no training beyond', () => {
    const placeOf = new Map(
      instance.seats.map((s) => [s.id, instance.places.find((p) => p.id === s.placeId)!]),
    )
    const homeOf = new Map(instance.people.map((p) => [p.id, p.at!]))
    const kmOf = (s: { seatId: string; personId: string }) =>
      flatKm(homeOf.get(s.personId)!, placeOf.get(s.seatId)!.at!)
    const kept = new Set(near.instance.locks.map((l) => `${l.seatId}|${l.personId}`))
    expect(kept.size).toBeGreaterThan(instance.locks.length)
    for (const s of seatings) {
      if (kmOf(s) > reachKm * 1.01) expect(kept.has(`${s.seatId}|${s.personId}`)).toBe(true)
      if (kmOf(s) < reachKm * 0.99) expect(kept.has(`${s.seatId}|${s.personId}`)).toBe(false)
    }
    const plan = trainingPlan(near.instance, { seatings })
    expect(empty.length).toBeGreaterThan(0)
    expect(plan.entries.length).toBeGreaterThan(0)
    for (const entry of plan.entries) expect(kmOf(entry)).toBeLessThan(reachKm * 1.01)
    const sum = (ns: number[]) => ns.reduce((a, b) => a + b, 0)
    expect(sum(plan.before)).toBe(instance.seats.length - empty.length)
    expect(sum(plan.after)).toBeGreaterThan(sum(plan.before))
  })
})
