import { describe, expect, it } from 'vitest'
import { seededRandom } from '@/lib/kernel/random'
import type { MipSolver } from '@/lib/roster/core/mip-model'
import { buildRosterMip } from '@/lib/roster/core/mip-roster'
import { prepareRoster } from '@/lib/roster/core/prepared'
import { solveRoster } from '@/lib/roster/core/solve'
import { verifyRoster, waysToServe } from '@/lib/roster/core/verify'
import { loadMipSolver } from '@/lib/roster/mip'
import type { RosterInstance, RosterResult } from '@/lib/roster/schema'
import { county } from './county'
import { compareValues, tinyInstance } from './tiny'

const values = (r: RosterResult) => ({
  seats: r.levels[0]!.value,
  violations: r.levels[1]!.value[0]!,
  cost: r.levels[2]!.value[0]!,
})
const small = county({ places: 6, people: 50, seed: 5 })
const smallResult = solveRoster(small, { seed: 3 })

describe('laws of the optimiser', () => {
  it('one more eligible person never fills fewer seats', () => {
    const random = seededRandom(1)
    for (let trial = 0; trial < 30; trial++) {
      const instance = tinyInstance(random, { halves: trial % 2 === 0 })
      const extra = { ...instance.people[0]!, id: 'extra' }
      const more: RosterInstance = { ...instance, people: [...instance.people, extra] }
      const before = solveRoster(instance).levels[0]!.value
      const after = solveRoster(more).levels[0]!.value
      let a = 0
      let b = 0
      before.forEach((n, k) => {
        a += n
        b += after[k]!
        expect(b).toBeGreaterThanOrEqual(a)
      })
    }
  })

  it('a lock on an eligible pair never improves the lexicographic optimum', () => {
    const random = seededRandom(2)
    for (let trial = 0; trial < 30; trial++) {
      const instance = tinyInstance(random, { rules: true })
      const seat = random.pick(instance.seats)
      const person = random.pick(instance.people)
      if ((waysToServe(instance, person.id, seat.id) & 1) === 0) continue
      const free = values(solveRoster(instance))
      const locked = values(
        solveRoster({ ...instance, locks: [{ seatId: seat.id, personId: person.id, half: 'full' }] }),
      )
      expect(compareValues(free, locked)).toBeLessThanOrEqual(0)
    }
  })

  it('permuting people and seats changes no value of an optimum', () => {
    const random = seededRandom(3)
    for (let trial = 0; trial < 30; trial++) {
      const instance = tinyInstance(random, { rules: true, precincts: true, halves: trial % 2 === 0 })
      const shuffled = {
        ...instance,
        people: random.shuffle(instance.people),
        seats: random.shuffle(instance.seats),
      }
      expect(values(solveRoster(shuffled))).toEqual(values(solveRoster(instance)))
    }
    const plain = county({ places: 15, people: 90, seed: 8, rules: false })
    const turned = { ...plain, people: random.shuffle(plain.people), seats: random.shuffle(plain.seats) }
    expect(values(solveRoster(turned))).toEqual(values(solveRoster(plain)))
  })

  it('the same work limit and seed give the same result', () => {
    expect(solveRoster(small, { seed: 3 })).toEqual(smallResult)
  })

  it('is exact for seats and travel when no rule bites', () => {
    const result = solveRoster(county({ places: 25, people: 150, seed: 4, rules: false, leadShare: 0.15 }))
    expect(result.status).toBe('optimal')
    expect(result.empty.length).toBeGreaterThan(0)
    expect(result.levels.map((l) => l.closedBy)).toEqual(['duals', 'duals', 'duals'])
  })

  it('stops when asked and hands over a whole roster', () => {
    let asked = 0
    const result = solveRoster(county({ places: 12, people: 120, seed: 6 }), {
      signal: {
        get aborted() {
          return asked++ > 2
        },
      },
    })
    expect(result.status).toBe('interrupted')
    expect(verifyRoster(county({ places: 12, people: 120, seed: 6 }), result).problems).toEqual([])
  })
})

describe('the independent checker', () => {
  const refuses = (change: (r: RosterResult) => void) => {
    const copy = structuredClone(smallResult)
    change(copy)
    return !verifyRoster(small, copy).ok
  }

  it('accepts the result as it is', () => {
    expect(verifyRoster(small, smallResult).problems).toEqual([])
  })

  it.each<[string, (r: RosterResult) => void]>([
    [
      'a person in two seats',
      (r) => {
        r.seatings[0]!.personId = r.seatings[1]!.personId
      },
    ],
    [
      'a seat dropped',
      (r) => {
        r.seatings.pop()
      },
    ],
    [
      'an uncertified lead',
      (r) => {
        const lead = r.seatings.find((s) => s.seatId.endsWith('-0'))!
        const seated = new Set(r.seatings.map((s) => s.personId))
        lead.personId = small.people.find(
          (p) => !seated.has(p.id) && !p.certificates.some((c) => c.key === 'lead'),
        )!.id
      },
    ],
    [
      'a cost one metre lower',
      (r) => {
        r.levels[2]!.value[0]!--
      },
    ],
    [
      'a cost bound one metre higher',
      (r) => {
        r.levels[2]!.bound![0] = r.levels[2]!.bound![0]! + 1
      },
    ],
    [
      'a gap of nothing',
      (r) => {
        r.levels[2]!.gap = r.levels[2]!.gap! / 2 + 1
      },
    ],
    [
      'fewer violations',
      (r) => {
        r.levels[1]!.value[0] = -1
      },
    ],
    [
      'a price below zero',
      (r) => {
        const key = Object.keys(r.proof.level3!.people)[0]!
        r.proof.level3!.people[key] = -5
      },
    ],
    [
      'prices twice as high',
      (r) => {
        for (const key of Object.keys(r.proof.level3!.people)) r.proof.level3!.people[key]! *= 2
      },
    ],
    [
      'a cover with a seat missing',
      (r) => {
        r.proof.covers.at(-1)!.seats.pop()
      },
    ],
    [
      'one seat more filled',
      (r) => {
        r.levels[0]!.value[0]!++
      },
    ],
    [
      'a status it has not earned',
      (r) => {
        r.status = 'optimal'
        r.levels[2]!.gap = 0.01
      },
    ],
  ])('refuses %s', (_, change) => {
    expect(refuses(change)).toBe(true)
  })
})

describe('with a mixed-integer solver', () => {
  it('reaches the optimum of the whole model, the same twice, no worse than without', async () => {
    for (const [seed, halfShare] of [
      [1, 0],
      [2, 0],
      [3, 0.2],
    ] as const) {
      const instance = county({ places: 7, people: 70, seed, halfShare })
      const result = solveRoster(instance, { seed, mip: loadMipSolver() })
      expect(result.status).toBe('optimal')
      expect(verifyRoster(instance, result)).toMatchObject({ ok: true, problems: [] })
      expect(solveRoster(instance, { seed, mip: loadMipSolver() })).toEqual(result)
      const alone = values(solveRoster(instance, { seed, searchNodes: 0 }))
      expect(compareValues(values(result), alone)).toBeLessThanOrEqual(0)
      // Every arc in one model, nothing ruled out by prices, no first solution.
      const { model, state } = prepareRoster(instance, result)
      const { mip, constant } = buildRosterMip(model, {
        state,
        filled: result.levels[0]!.value,
        violations: result.levels[1]!.value[0]!,
      })
      const whole = loadMipSolver()(mip, { nodes: 100_000 })
      expect(whole.status).toBe('optimal')
      expect(Math.round(whole.objective + constant)).toBe(result.levels[2]!.value[0])
    }
  }, 180_000)

  it('holds its claims where people are short and rules bite', async () => {
    const instance = county({ places: 6, people: 34, seed: 4, leadShare: 0.25 })
    const result = solveRoster(instance, { mip: loadMipSolver(), searchNodes: 0 })
    expect(result.empty.length).toBeGreaterThan(0)
    expect(result.levels[1]!.value[0]).toBeGreaterThan(0)
    expect(verifyRoster(instance, result).problems).toEqual([])
    const alone = values(solveRoster(instance, { searchNodes: 0 }))
    expect(compareValues(values(result), alone)).toBeLessThanOrEqual(0)
  })

  it('goes on without it when it fails', () => {
    const instance = county({ places: 4, people: 40, seed: 3 })
    const broken: MipSolver = () => ({
      status: 'failed',
      values: null,
      objective: Number.NaN,
      bound: Number.NEGATIVE_INFINITY,
      rowDuals: null,
    })
    const result = solveRoster(instance, { mip: broken })
    expect(verifyRoster(instance, result).problems).toEqual([])
    expect(result.levels[2]!.bound![0]!).toBeGreaterThan(0)
  })
})
