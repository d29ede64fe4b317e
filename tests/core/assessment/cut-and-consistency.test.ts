import { describe, expect, it } from 'vitest'
import { testStatistics } from '@/lib/assessment/core/classical'
import { angoffCutScore } from '@/lib/assessment/core/cut-score'
import {
  betaBinomialConsistency,
  betaConsistency,
  binomialAtLeast,
  decisionConsistency,
} from '@/lib/assessment/core/decision-consistency'
import { responsesFromMarks } from '@/lib/assessment/core/responses'
import { seededRandom } from '@/lib/kernel/random'
import angoff from '../../reference/psychometrics/angoff_constructed.json'

describe('the pass mark by a panel', () => {
  it('is the mean of the judges’ sums with its standard error', () => {
    const cut = angoffCutScore(angoff.ratings_judges_x_items)
    expect(cut.mean).toBeCloseTo(angoff.cut_raw, 10)
    expect(cut.fraction * 100).toBeCloseTo(angoff.cut_pct, 10)
    expect(cut.standardError).toBeCloseTo(angoff.se, 8)
    angoff.judge_sums.forEach((s, i) => {
      expect(cut.byJudge[i]).toBeCloseTo(s, 10)
    })
  })

  it('weighs an item that counts for several points: the same as the item several times', () => {
    const ratings = [
      [0.6, 0.9],
      [0.8, 0.7],
    ]
    const cut = angoffCutScore(ratings, [1, 2])
    const spelled = angoffCutScore(ratings.map(([a, b]) => [a!, b!, b!]))
    expect(cut.mean).toBeCloseTo(spelled.mean, 12)
    expect(cut.fraction).toBeCloseTo(spelled.fraction, 12)
    expect(cut.standardError).toBeCloseTo(spelled.standardError!, 12)
    expect(() => angoffCutScore(ratings, [1])).toThrow(RangeError)
    expect(() => angoffCutScore(ratings, [1, 0])).toThrow(RangeError)
  })

  it('has no error for one judge, and refuses ragged or foreign ratings', () => {
    expect(angoffCutScore([[0.5, 1]])).toMatchObject({ mean: 1.5, standardError: null })
    for (const bad of [[], [[]], [[0.5], [0.5, 0.5]], [[1.2]]])
      expect(() => angoffCutScore(bad)).toThrow(RangeError)
  })
})

describe('decision consistency (Subkoviak 1976)', () => {
  it('agrees with a calculation by hand', () => {
    // Two items, cut 1, scores 0 and 2, reliability ½: true shares ¼ and ¾; P(≥ 1) = 1 − ¾² = 0.4375 and 0.9375.
    // Agreement: (0.4375² + 0.5625² + 0.9375² + 0.0625²) / 2 = (0.5078125 + 0.8828125) / 2 = 0.6953125.
    // Pass rate 0.6875; chance 0.6875² + 0.3125² = 0.5703125; kappa 0.125 / 0.4296875 = 0.290909….
    const c = decisionConsistency([0, 2], 2, 1, 0.5)
    expect(c.agreement).toBeCloseTo(0.6953125, 12)
    expect(c.passRate).toBeCloseTo(0.6875, 12)
    expect(c.chance).toBeCloseTo(0.5703125, 12)
    expect(c.kappa).toBeCloseTo(0.125 / 0.4296875, 12)
  })

  it('has binomial tails as counted: 3 of 4 fair coins or more is 5/16', () => {
    expect(binomialAtLeast(4, 0.5, 3)).toBeCloseTo(5 / 16, 14)
    expect(binomialAtLeast(4, 0, 1)).toBe(0)
    expect(binomialAtLeast(4, 1, 4)).toBe(1)
  })

  it('by the beta-binomial agrees with a calculation by hand', () => {
    // One item, true shares uniform (beta 1, 1): both right E p² = 1/3, both wrong 1/3; agreement 2/3, pass rate ½,
    // chance ½, kappa (2/3 − 1/2) / (1/2) = 1/3.
    const c = betaConsistency(1, 1, 1, 1)
    expect(c.agreement).toBeCloseTo(2 / 3, 12)
    expect(c.kappa).toBeCloseTo(1 / 3, 12)
    // Two items, cut 2: pass P = p²; E[p⁴ + (1 − p²)²] = 1/5 + 1 − 2/3 + 1/5 = 11/15.
    expect(betaConsistency(1, 1, 2, 2).agreement).toBeCloseTo(11 / 15, 12)
  })

  it('foretells how often two simulated forms agree', () => {
    // True shares beta(6, 2): the second largest of seven uniform numbers. 20 items, equally hard.
    const r = seededRandom(7)
    const k = 20
    const cut = 14
    const marks: number[][] = []
    let same = 0
    const people = 4000
    for (let i = 0; i < people; i++) {
      const share = Array.from({ length: 7 }, () => r.next()).sort((a, b) => a - b)[5]!
      const form = () => Array.from({ length: k }, () => (r.next() < share ? 1 : 0) as number)
      const first = form()
      const passes = (f: number[]) => f.reduce((s, v) => s + v, 0) >= cut
      if (passes(first) === passes(form())) same++
      marks.push(first)
    }
    const { kr20 } = testStatistics(responsesFromMarks(marks))
    const scores = marks.map((m) => m.reduce((s, v) => s + v, 0))
    // Sampling error of the observed share: √(0.8 × 0.2 / 4000) = 0.006.
    expect(Math.abs(betaBinomialConsistency(scores, k, cut)!.agreement - same / people)).toBeLessThan(0.02)
    expect(Math.abs(betaConsistency(6, 2, k, cut).agreement - same / people)).toBeLessThan(0.02)
    // Subkoviak's own bias is a few hundredths.
    expect(Math.abs(decisionConsistency(scores, k, cut, kr20!).agreement - same / people)).toBeLessThan(0.06)
  })

  it('is sure where nobody is near the cut, and refuses nonsense', () => {
    expect(decisionConsistency([10, 10], 10, 5, 1)).toMatchObject({ agreement: 1, kappa: null, passRate: 1 })
    expect(() => decisionConsistency([], 5, 3, 0.5)).toThrow(RangeError)
    expect(() => decisionConsistency([6], 5, 3, 0.5)).toThrow(RangeError)
    expect(() => decisionConsistency([3], 5, 2.5, 0.5)).toThrow(RangeError)
  })
})
