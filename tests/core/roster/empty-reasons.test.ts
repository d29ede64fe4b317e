import { describe, expect, it } from 'vitest'
import { civilDate } from '@/lib/kernel/dates'
import { solveRoster } from '@/lib/roster/core/solve'
import { groupReasons } from '@/lib/roster/empty-reasons'
import { explainAndPlan } from '@/lib/roster/plan'
import { county } from './county'

describe('why seats stay empty, for many at once', () => {
  it('puts seats together that lack the same people, however many may sit in each', () => {
    const instance = county({ places: 12, people: 70, seed: 5, leadShare: 0.3, rules: false })
    const { empty } = explainAndPlan({
      instance,
      seatings: solveRoster(instance, { workLimit: 0 }).seatings,
      today: civilDate('2028-01-01'),
      heldOn: civilDate('2028-11-07'),
      policies: [],
      facts: [],
      elections: [],
      wishes: [],
      positions: [],
    })
    const groups = groupReasons(empty)
    expect(groups.reduce((sum, g) => sum + g.seats, 0)).toBe(empty.length)
    expect(groups.map((g) => g.seats)).toEqual(groups.map((g) => g.seats).sort((a, b) => b - a))
    // The people whom they lack, read from the sentence of each seat: as many seats, whatever number it begins with.
    const lacking = new Map<string, Set<string>>()
    const seats = new Map<string, number>()
    for (const { reason } of empty) {
      const said = /^(\d+) .*seats, this one among them, have only (\d+ people)/.exec(reason)
      if (!said) continue
      lacking.set(said[2]!, (lacking.get(said[2]!) ?? new Set()).add(said[1]!))
      seats.set(said[2]!, (seats.get(said[2]!) ?? 0) + 1)
    }
    expect([...lacking.values()].some((numbers) => numbers.size > 1)).toBe(true)
    for (const [people, n] of seats)
      if (n > 1) expect(groups.find((g) => g.reason.includes(`others have only ${people}`))?.seats).toBe(n)
  })

  it('gives a seat alone its own sentence, and seats of one plain reason that reason', () => {
    const alone = { seatId: 'a', reason: '3 people may sit here, but …', shared: 'Those who may sit there …' }
    const plain = { seatId: 'b', reason: 'Nobody holds the certificate.' }
    expect(groupReasons([alone, plain, { ...plain, seatId: 'c' }])).toEqual([
      { seats: 2, reason: plain.reason },
      { seats: 1, reason: alone.reason },
    ])
  })
})
