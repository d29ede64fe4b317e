import { describe, expect, it } from 'vitest'
import {
  differentialFunctioning,
  mantelHaenszel,
  type TwoByTwo,
} from '@/lib/assessment/core/differential-functioning'
import { itemFindings, optionStatistics } from '@/lib/assessment/core/distractors'
import { driftOf } from '@/lib/assessment/core/drift'
import { exposureOf } from '@/lib/assessment/core/exposure'
import { chanceRight } from '@/lib/assessment/core/latent-model'
import { chiSquareTail1, erfc } from '@/lib/assessment/core/normal'
import { responsesFromMarks } from '@/lib/assessment/core/responses'
import { seededRandom } from '@/lib/kernel/random'
import fromR from '../../reference/psychometrics/mantelhaen_r.json'

describe('Mantel–Haenszel', () => {
  it.each(fromR.cases)('agrees with base R on $name', (c) => {
    const t = mantelHaenszel(c.tables as unknown as TwoByTwo[])
    expect(t.chiSquare).toBeCloseTo(c.statistic, 9)
    expect(t.pValue).toBeCloseTo(c.pValue, 9)
    expect(t.oddsRatio).toBeCloseTo(c.oddsRatio, 9)
    expect(t.delta).toBeCloseTo(-2.35 * Math.log(c.oddsRatio), 8)
  })

  it('turns its odds round where the groups change places', () => {
    const tables = fromR.cases[1]!.tables as unknown as TwoByTwo[]
    const turned = tables.map(([a, b]): TwoByTwo => [b, a])
    expect(mantelHaenszel(turned).oddsRatio).toBeCloseTo(1 / mantelHaenszel(tables).oddsRatio!, 12)
    expect(mantelHaenszel(turned).chiSquare).toBeCloseTo(mantelHaenszel(tables).chiSquare!, 12)
  })

  it('finds the one item that is harder in one language, and says nothing with too few people', () => {
    const r = seededRandom(11)
    const people = (n: number, shift: number) =>
      responsesFromMarks(
        Array.from({ length: n }, () => {
          const ability = (r.next() + r.next() + r.next() + r.next() - 2) * 1.7
          return [-1, -0.5, 0, 0, 0.5, 1, 0.2, -0.2].map((b, i) =>
            r.next() < chanceRight(ability, b + (i === 2 ? shift : 0), 1.2) ? 1 : 0,
          )
        }),
      )
    const { items } = differentialFunctioning(people(1500, 0), people(1500, 1))
    expect(items[2]!.size).toBe('C')
    expect(items[2]!.delta).toBeLessThan(-1.5)
    expect(items.filter((i) => i.size === 'C')).toHaveLength(1)
    const few = differentialFunctioning(people(40, 0), people(40, 1))
    expect(few.items.every((i) => i.size === null)).toBe(true)
  })

  it('has tails as tabled: chi-square 3.841459 at 5 %, erfc(1) = 0.157299207', () => {
    // Abramowitz & Stegun 1964, tables 26.8 and 7.1 (from memory).
    expect(chiSquareTail1(3.841459)).toBeCloseTo(0.05, 7)
    expect(erfc(1)).toBeCloseTo(0.157299207, 9)
    expect(erfc(3)).toBeCloseTo(2.2090497e-5, 13)
    expect(erfc(-1)).toBeCloseTo(2 - 0.157299207, 9)
    expect(erfc(1.9999999999)).toBeCloseTo(erfc(2), 9)
  })
})

describe('options', () => {
  it('are counted by thirds, and a wrong one that attracts the strong is reported', () => {
    const options = [
      { id: 'a', right: true },
      { id: 'b', right: false },
      { id: 'c', right: false },
    ]
    // 30 people: the strongest ten choose b, the others a; nobody chooses c.
    const choices = Array.from({ length: 30 }, (_, i) => ({
      option: i >= 20 ? 'b' : 'a',
      restFraction: i / 30,
    }))
    const stats = optionStatistics(options, choices)
    expect(stats.map((s) => s.thirds)).toEqual([
      [10, 10, 0],
      [0, 0, 10],
      [0, 0, 0],
    ])
    expect(stats[1]!.share).toBeCloseTo(1 / 3, 12)
    const kinds = itemFindings({ people: 30, p: 2 / 3, correctedPointBiserial: -0.5 }, stats)
    expect(kinds[0]).toEqual({ kind: 'check-the-key', option: 'b' })
    expect(kinds.map((k) => k.kind)).toEqual(['check-the-key', 'does-not-tell-apart', 'nobody-chooses'])
    expect(itemFindings({ people: 5, p: 1, correctedPointBiserial: null })[0]!.kind).toBe('too-few-answers')
  })
})

describe('exposure', () => {
  it('agrees with pairs counted one by one', () => {
    const forms = [
      ['a', 'b'],
      ['a', 'c'],
      ['a', 'b'],
      ['d', 'c'],
    ]
    let common = 0
    for (let i = 0; i < 4; i++)
      for (let j = i + 1; j < 4; j++) common += forms[i]!.filter((q) => forms[j]!.includes(q)).length
    const report = exposureOf(forms, ['a', 'b', 'c', 'd', 'e'])
    expect(report.meanOverlap).toBeCloseTo(common / 6 / 2, 12)
    expect(report).toMatchObject({ forms: 4, highest: 0.75, lowest: 0 })
    expect(report.rates.get('e')).toBe(0)
  })
})

describe('drift', () => {
  it('finds the question that became easier than the rest did', () => {
    const questions = Array.from({ length: 9 }, (_, i) => ({
      id: `q${i}`,
      before: { right: 120, people: 200 },
      after: { right: i === 4 ? 190 : 130, people: 200 },
    }))
    const drift = driftOf(questions)
    expect(drift.filter((d) => d.drifted).map((d) => d.id)).toEqual(['q4'])
    // All others moved by the same: no change beside the median.
    expect(drift[0]!.change).toBeCloseTo(0, 12)
    expect(
      driftOf([{ id: 'a', before: { right: 1, people: 2 }, after: { right: 2, people: 2 } }])[0]!.drifted,
    ).toBeNull()
  })
})
