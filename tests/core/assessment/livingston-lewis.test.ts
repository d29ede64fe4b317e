import { describe, expect, it } from 'vitest'
import { betaBinomialConsistency } from '@/lib/assessment/core/decision-consistency'
import { effectiveLength, livingstonLewis } from '@/lib/assessment/core/livingston-lewis'
import { seededRandom } from '@/lib/kernel/random'

const momentsOf = (scores: readonly number[]) => {
  const mean = scores.reduce((s, v) => s + v, 0) / scores.length
  return { mean, variance: scores.reduce((s, v) => s + (v - mean) ** 2, 0) / scores.length }
}

describe('decision consistency and accuracy (Livingston & Lewis 1995)', () => {
  it('agrees with a calculation by hand', () => {
    // Scores 0–2, mean 1, variance 2/3, reliability ½. True shares: mean ½, variance ½ × 2/3 ÷ 4 = 1/12, which is the
    // uniform distribution, beta(1, 1). Length (1 × 1 − ½ × 2/3) ÷ (2/3 × ½) = 2. Cut 2 of 2: P = p².
    // Agreement E[p⁴ + (1 − p²)²] = 1/5 + 1 − 2/3 + 1/5 = 11/15. True share of the cut is 1, which nobody reaches:
    // everybody who passes passes wrongly, E p² = 1/3.
    const report = livingstonLewis({ mean: 1, variance: 2 / 3, reliability: 0.5, least: 0, most: 2 }, 2)!
    expect(report.effectiveLength).toBe(2)
    expect(report.agreement).toBeCloseTo(11 / 15, 12)
    expect(report.falsePasses).toBeCloseTo(1 / 3, 5)
    expect(report.falseFails).toBeCloseTo(0, 12)
    // Cut 1 of 2: passes 1 − (1 − p)², true cut at ½. False fails ∫½¹ (1 − p)² = 1/24; false passes
    // ∫₀^½ (2p − p²) = ¼ − 1/24 = 5/24. Accuracy 18/24.
    const half = livingstonLewis({ mean: 1, variance: 2 / 3, reliability: 0.5, least: 0, most: 2 }, 1)!
    expect(half.falseFails).toBeCloseTo(1 / 24, 5)
    expect(half.falsePasses).toBeCloseTo(5 / 24, 5)
    expect(half.accuracy).toBeCloseTo(0.75, 5)
  })

  it('with KR-21 as the reliability has the test’s own length, and is Huynh’s beta-binomial', () => {
    const scores = [3, 5, 6, 8, 8, 9, 9, 10, 4, 7, 10, 2]
    const { mean, variance } = momentsOf(scores)
    const kr21 = (10 / 9) * (1 - (mean * (10 - mean)) / (10 * variance))
    const spread = { mean, variance, reliability: kr21, least: 0, most: 10 }
    expect(effectiveLength(spread)).toBeCloseTo(10, 9)
    const huynh = betaBinomialConsistency(scores, 10, 7)!
    const report = livingstonLewis(spread, 7)!
    expect(report.agreement).toBeCloseTo(huynh.agreement, 9)
    expect(report.kappa).toBeCloseTo(huynh.kappa!, 9)
  })

  it('does not change with the unit or the zero of the scale', () => {
    const a = livingstonLewis({ mean: 14, variance: 9, reliability: 0.7, least: 0, most: 20 }, 13)!
    const b = livingstonLewis(
      { mean: 12.5 + 4.2, variance: 0.81, reliability: 0.7, least: 12.5, most: 18.5 },
      16.4,
    )!
    for (const name of ['agreement', 'accuracy', 'falsePasses', 'falseFails'] as const)
      expect(b[name]).toBeCloseTo(a[name], 9)
  })

  it('foretells how often two simulated forms with weights and partial credit agree, and with the truth', () => {
    // True shares beta(6, 2). A form has 14 questions of one point, and a story of 4 points marked in quarters.
    const r = seededRandom(19)
    const cut = 12.6
    const people = 6000
    let same = 0
    let right = 0
    const firsts: number[] = []
    const seconds: number[] = []
    for (let i = 0; i < people; i++) {
      const share = Array.from({ length: 7 }, () => r.next()).sort((a, b) => a - b)[5]!
      const hits = (n: number) =>
        Array.from({ length: n }, () => Number(r.next() < share)).reduce((s, v) => s + v, 0)
      const form = () => hits(14) + hits(4)
      const [first, second] = [form(), form()]
      if (first >= cut === second >= cut) same++
      if (first >= cut === share * 18 >= cut) right++
      firsts.push(first)
      seconds.push(second)
    }
    const { mean, variance } = momentsOf(firsts)
    const other = momentsOf(seconds)
    const covariance = firsts.reduce((s, v, i) => s + (v - mean) * (seconds[i]! - other.mean), 0) / people
    const reliability = covariance / Math.sqrt(variance * other.variance)
    const report = livingstonLewis({ mean, variance, reliability, least: 0, most: 18 }, cut)!
    // Sampling error of either share: √(0.8 × 0.2 / 6000) = 0.005.
    expect(Math.abs(report.agreement - same / people)).toBeLessThan(0.02)
    expect(Math.abs(report.accuracy - right / people)).toBeLessThan(0.02)
  })

  it('says nothing where there is nothing to say, and refuses a cut off the scale', () => {
    const spread = { mean: 5, variance: 4, reliability: 0.6, least: 0, most: 10 }
    expect(livingstonLewis({ ...spread, variance: 0 }, 5)).toBeNull()
    expect(livingstonLewis({ ...spread, reliability: -0.2 }, 5)).toBeNull()
    expect(livingstonLewis({ ...spread, reliability: 1 }, 5)).toBeNull()
    expect(() => livingstonLewis(spread, 11)).toThrow(RangeError)
  })
})
