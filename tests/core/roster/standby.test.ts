import { readFileSync } from 'node:fs'
import path from 'node:path'
import { describe, expect, it } from 'vitest'
import {
  chanceOfAtLeast,
  poissonBinomial,
  shrinkRates,
  smallestPool,
  standbyPool,
} from '@/lib/roster/core/standby'

// Computed with R pbinom and r-cran-poissonbinomial (two methods agreeing), see the SOURCE note.
const reference = JSON.parse(
  readFileSync(path.join(import.meta.dirname, '../../reference/reserve/reserve_reference.json'), 'utf8'),
) as {
  binomial_tail: { n: number; k: number; p: number; P_at_least_k: number }[]
  min_pool: {
    need: number
    p: number
    target: number
    min_n: number
    reserve: number
    achieved: number
    one_fewer: number
  }[]
  poisson_binomial: { p: number[]; pmf: number[]; tail_at_least: number[] }[]
}

describe('standby', () => {
  it('agrees with R on every Poisson-binomial distribution', () => {
    for (const c of reference.poisson_binomial) {
      const pmf = poissonBinomial(c.p)
      c.pmf.forEach((x, k) => {
        expect(Math.abs(pmf[k]! - x)).toBeLessThan(1e-12)
      })
      c.tail_at_least.forEach((x, k) => {
        expect(Math.abs(chanceOfAtLeast(k, c.p) - x)).toBeLessThan(1e-12)
      })
    }
  })

  it('agrees with R on binomial tails', () => {
    for (const c of reference.binomial_tail)
      expect(Math.abs(chanceOfAtLeast(c.k, new Array(c.n).fill(c.p)) - c.P_at_least_k)).toBeLessThan(1e-12)
  })

  it('agrees with R on the smallest pool for each need, rate and target', () => {
    expect(reference.min_pool.length).toBeGreaterThan(100)
    for (const c of reference.min_pool) {
      const pool = smallestPool(c.need, c.p, c.target)
      expect([pool.pool, pool.reserve]).toEqual([c.min_n, c.reserve])
      expect(Math.abs(pool.chance - c.achieved)).toBeLessThan(1e-12)
      expect(Math.abs(pool.chanceOneFewer - c.one_fewer)).toBeLessThan(1e-12)
    }
  })

  it('shrinks a short record further than a long one, and a person without record to the county', () => {
    const { countyRate, rates, strength } = shrinkRates([
      { offered: 40, came: 40 },
      { offered: 40, came: 20 },
      { offered: 2, came: 2 },
      { offered: 0, came: 0 },
    ])
    // By hand: m = 62/82; S = 40(1−m)² + 40(.5−m)² + 2(1−m)²; N − Σn²/N = 82 − 3204/82; K = 3.
    const m = 62 / 82
    const S = 42 * (1 - m) ** 2 + 40 * (0.5 - m) ** 2
    const phi = (S / (m * (1 - m)) - 2) / (82 - 3204 / 82 - 2)
    expect(countyRate).toBeCloseTo(m, 14)
    expect(strength).toBeCloseTo(1 / phi - 1, 10)
    expect(rates[3]).toBeCloseTo(m, 14)
    expect(rates[2]!).toBeLessThan(rates[0]!)
    expect(rates[2]!).toBeGreaterThan(m)
  })

  it('leaves everybody at the county rate where people differ no more than chance', () => {
    const { rates } = shrinkRates([
      { offered: 10, came: 8 },
      { offered: 10, came: 8 },
    ])
    expect(rates).toEqual([0.8, 0.8])
  })

  it('gives each area the smallest pool, and the county the product of its areas', () => {
    // By hand: one seat at 0.9, standbys at 0.9: 0.9, then 0.99. Two seats at 0.9 and standbys: 0.81, 0.972.
    const areas = [
      { key: 'a', seated: [0.9], available: [0.9, 0.9] },
      { key: 'b', seated: [0.9, 0.9], available: [0.9, 0.9] },
    ]
    const plan = standbyPool(areas, { kind: 'perArea', chance: 0.95 })
    expect(plan.areas.map((a) => a.standby)).toEqual([1, 1])
    expect(plan.countyChance).toBeCloseTo(0.99 * 0.972, 12)
    // 0.9 × 0.81 = 0.729; one standby in b gives 0.9 × 0.972 = 0.8748, one in a only 0.99 × 0.81 = 0.8019.
    expect(standbyPool(areas, { kind: 'county', chance: 0.81 }).areas.map((a) => a.standby)).toEqual([0, 1])
  })
})
