import { describe, expect, it } from 'vitest'
import { seededRandom } from '@/lib/kernel/random'
import { LagrangianBound } from '@/lib/roster/core/bound'
import { gather } from '@/lib/roster/core/by-regions'
import { Exchanger } from '@/lib/roster/core/improve'
import { MipModel } from '@/lib/roster/core/mip-model'
import { buildRosterMip } from '@/lib/roster/core/mip-roster'
import { prepareRoster } from '@/lib/roster/core/prepared'
import { solveRegion } from '@/lib/roster/core/regional'
import { solveRoster } from '@/lib/roster/core/solve'
import { verifyRoster } from '@/lib/roster/core/verify'
import { loadMipSolver } from '@/lib/roster/mip'
import { county } from './county'

describe('with fewer people than seats and no rule that bites', () => {
  // Outside value: the optimum that HiGHS finds for the same model, from nothing and over every arc.
  it.each([
    ['the rest of the crew is short', { places: 12, people: 66, seed: 1 }],
    ['the legal minimum is short as well', { places: 12, people: 40, seed: 2 }],
    ['leads are short too', { places: 12, people: 50, seed: 3, leadShare: 0.15 }],
    [
      'travel is limited, so that areas are short by themselves',
      { places: 25, people: 130, seed: 4, maxTravelKm: 9 },
    ],
  ])('the least cost is exact and proven by prices: %s', (_, shape) => {
    const instance = county({ ...shape, rules: false })
    const result = solveRoster(instance, { searchNodes: 0 })
    const [seats, , cost] = result.levels
    expect(result.empty.length).toBeGreaterThan(5)
    expect([seats!.gap, cost!.gap, cost!.closedBy]).toEqual([0, 0, 'duals'])
    expect(verifyRoster(instance, result).problems).toEqual([])
    const { model, state } = prepareRoster(instance, result)
    const { mip, constant } = buildRosterMip(model, { state, filled: seats!.value, violations: 0 })
    const whole = loadMipSolver()(mip, { nodes: 100_000 })
    expect(whole.status).toBe('optimal')
    expect(Math.round(whole.objective + constant)).toBe(cost!.value[0])
  })
})

describe('prices of a relaxation, where people are short and some pairs belong together', () => {
  // Outside value: the relaxation's value as HiGHS gives it. The bound decides crews in whole numbers: never below.
  it('bound at least by what the relaxation costs', () => {
    const instance = county({ places: 10, people: 64, seed: 3 })
    const { state, model } = prepareRoster(instance, solveRoster(instance, { searchNodes: 0 }))
    const filled = state.filledByClass()
    const mip = loadMipSolver()
    const near = new Uint8Array(model.arcUnit.length).fill(2)
    const crews = model.crews.map((_, c) => c)
    const violations = state.violations()
    expect(violations).toBeGreaterThan(0)
    const task = { crews, state, filled, violations, near, slack: 0, nodes: 0, gap: 0 }
    const answer = solveRegion(model, mip, task)!
    const bound = new LagrangianBound(model, state.unitBits)
    const spec = {
      costFactor: 1,
      violationFactor: 0,
      allowedViolations: violations,
      filled,
      earn: new Float64Array(filled.length),
    }
    const prices = gather(model, bound, [answer.prices])
    bound.clip(spec, prices)
    expect(answer.prices.violation).toBeGreaterThan(0)
    expect(bound.evaluate(spec, prices).value).toBeGreaterThan(answer.relaxed - 1)
  })
})

describe("the solver's thread", () => {
  it('answers the next model after one that it could not take', () => {
    const solve = loadMipSolver()
    const wrong = new MipModel()
    const x = wrong.column(Number.NaN, 0, 1, true)
    wrong.row([x], [1], 1, 0)
    expect(solve(wrong, { nodes: 1 }).values).toBeNull()
    // Two of three things at the least cost: 1 + 2.
    const right = new MipModel()
    const things = [3, 1, 2].map((cost) => right.column(cost, 0, 1, true))
    right.row(things, [1, 1, 1], 2, 2)
    const answer = solve(right, { nodes: 10 })
    expect([answer.status, answer.objective, [...answer.values!]]).toEqual(['optimal', 3, [0, 1, 1]])
  })

  it('gives the duals of rows as if columns fixed at nothing were there', () => {
    // min 2x + 3y + 9z, x + y + z ≥ 4, x ≤ 1, z = 0: x = 1, y = 3; one more costs 3 (by hand).
    const model = new MipModel()
    const columns = [
      model.column(2, 0, 1, false),
      model.column(9, 0, 0, false),
      model.column(3, 0, 10, false),
    ]
    model.row(columns, [1, 1, 1], 4, Number.POSITIVE_INFINITY)
    const answer = loadMipSolver()(model, { nodes: 1 })
    expect([answer.objective, [...answer.values!], [...answer.rowDuals!]]).toEqual([11, [1, 0, 3], [3]])
  })
})

describe('with fewer people who meet a minimum than crews that need one', () => {
  // Outside value: arithmetic. With n crews that each need a speaker and m speakers, at least n - m crews go without.
  it.each([1, 2, 3])('level 2 is bounded by the difference, and the checker agrees (seed %i)', (seed) => {
    const instance = county({ places: 14, people: 150, seed })
    instance.rules.keepApart = []
    instance.rules.keepTogether = []
    let speakers = 0
    for (const person of instance.people) person.languages = ++speakers <= 9 ? ['es'] : []
    const result = solveRoster(instance, { searchNodes: 0, mip: loadMipSolver() })
    const [, violations] = result.levels
    expect([violations!.value, violations!.bound, violations!.closedBy]).toEqual([[5], [5], 'duals'])
    expect(verifyRoster(instance, result).problems).toEqual([])
  })
})

describe('exchanges', () => {
  // Outside value: the value counted anew from the roster, which the exchanges keep move by move.
  it('change the score by what the roster, valued anew, changes', () => {
    const instance = county({ places: 15, people: 100, seed: 5, halfShare: 0.2 })
    const { model, state } = prepareRoster(instance, solveRoster(instance, { workLimit: 0 }))
    const score = () => 50_000 * state.violations() + state.cost()
    const before = score()
    const change = new Exchanger(model, state).run({
      violationPrice: 50_000,
      hardPrice: 0,
      moves: 50_000,
      hot: 2000,
      cold: 200,
      random: seededRandom(7),
    })
    expect(change).toBeLessThan(0)
    expect(score() - before).toBeCloseTo(change, 3)
    const seated = [...state.first, ...state.second].filter((u) => u >= 0)
    expect(new Set(seated).size).toBe(seated.length)
  })
})
