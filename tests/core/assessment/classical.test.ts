import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { pointBiserial, testStatistics } from '@/lib/assessment/core/classical'
import { responsesFromMarks } from '@/lib/assessment/core/responses'
import jalt from '../../reference/psychometrics/point_biserial_jalt.json'
import { KR20_EXAMPLE, kr20Responses, LSAT6, lsatPatterns, lsatResponses } from './published'

const near = (a: (number | null)[], b: number[]) => {
  expect(a.length).toBe(b.length)
  for (const [i, v] of a.entries()) expect(v, `item ${i}`).toBeCloseTo(b[i]!, 9)
}

describe('classical statistics of published sets', () => {
  it('agree with LSAT6 (Bock & Lieberman 1970; R psych and ltm)', () => {
    const s = testStatistics(lsatResponses())
    expect(s.people).toBe(1000)
    near(
      s.items.map((i) => i.p),
      LSAT6.p,
    )
    near(
      s.items.map((i) => i.pointBiserial),
      LSAT6.point_biserial_uncorrected,
    )
    near(
      s.items.map((i) => i.correctedPointBiserial),
      LSAT6.point_biserial_corrected,
    )
    expect(s.mean).toBeCloseTo(3.819, 12)
    expect(s.variance).toBeCloseTo(1.070239, 12)
    expect(s.kr20).toBeCloseTo(0.29499719222, 10)
    expect(s.standardError).toBeCloseTo(0.8686319704, 9)
  })

  it('give 0.696347 for the worked KR-20 table, not 0.7378 (sample variance)', () => {
    const s = testStatistics(kr20Responses())
    expect(s.kr20).toBeCloseTo(0.69634703196, 10)
    expect(s.variance).toBeCloseTo(5.84, 12)
    near(
      s.items.map((i) => i.pointBiserial),
      KR20_EXAMPLE.point_biserial_uncorrected,
    )
    near(
      s.items.map((i) => i.correctedPointBiserial),
      KR20_EXAMPLE.point_biserial_corrected,
    )
  })

  it('give ±0.904534 for the point-biserial example and nothing for an item that does not vary', () => {
    expect(pointBiserial(jalt.item1, jalt.totals)).toBeCloseTo(0.904534, 6)
    expect(pointBiserial(jalt.item2, jalt.totals)).toBeCloseTo(-0.904534, 6)
    expect(pointBiserial(jalt.item3, jalt.totals)).toBeNull()
  })
})

describe('edges', () => {
  it('are null where undefined', () => {
    expect(testStatistics(responsesFromMarks([[1, 0]]))).toMatchObject({ kr20: null, standardError: null })
    const same = testStatistics(
      responsesFromMarks([
        [1, 0],
        [0, 1],
      ]),
    )
    expect(same).toMatchObject({ mean: 1, variance: 0, kr20: null })
    expect(same.items[0]).toMatchObject({ p: 0.5, pointBiserial: null })
    const untouched = testStatistics(
      responsesFromMarks([
        [1, null],
        [0, null],
      ]),
    )
    expect(untouched).toMatchObject({ completePeople: 0, mean: null, kr20: null })
    expect(untouched.items[1]).toMatchObject({ people: 0, p: null, pointBiserial: null })
  })

  it('leave out what was not put to a person', () => {
    // p of item 2 over the two who had it: 1/2. Complete: persons 1 and 3, totals 2 and 0 → mean 1, variance 1.
    const s = testStatistics(
      responsesFromMarks([
        [1, 1],
        [1, null],
        [0, 0],
      ]),
    )
    expect(s.items.map((i) => i.p)).toEqual([2 / 3, 0.5])
    expect(s).toMatchObject({ people: 3, completePeople: 2, mean: 1, variance: 1 })
  })

  it('refuse ragged or foreign marks', () => {
    for (const bad of [[], [[]], [[1, 0], [1]], [[2]], [[-0.1]], [[Number.NaN]]])
      expect(() => responsesFromMarks(bad)).toThrow(RangeError)
  })
})

describe('laws', () => {
  const table = fc.tuple(fc.integer({ min: 2, max: 7 }), fc.integer({ min: 2, max: 30 })).chain(([k, n]) =>
    fc.array(fc.array(fc.constantFrom(0, 1), { minLength: k, maxLength: k }), {
      minLength: n,
      maxLength: n,
    }),
  )

  it('the order of people and of items changes nothing but the order of items', () => {
    fc.assert(
      fc.property(table, fc.nat(), (marks, turn) => {
        const a = testStatistics(responsesFromMarks(marks))
        const k = marks[0]!.length
        const order = Array.from({ length: k }, (_, i) => (i + turn) % k)
        const b = testStatistics(responsesFromMarks(marks.toReversed().map((m) => order.map((i) => m[i]!))))
        if (a.kr20 === null) expect(b.kr20).toBeNull()
        else expect(b.kr20).toBeCloseTo(a.kr20, 9)
        order.forEach((from, to) => {
          expect(b.items[to]!.p).toBeCloseTo(a.items[from]!.p!, 12)
        })
      }),
    )
  })

  it('counting a pattern n times equals listing it n times', () => {
    const listed = lsatPatterns.flatMap((p) => Array.from({ length: p.count }, () => p.marks))
    const a = testStatistics(responsesFromMarks(listed))
    const b = testStatistics(lsatResponses())
    expect(a.kr20).toBeCloseTo(b.kr20!, 10)
    expect(a.variance).toBeCloseTo(b.variance!, 10)
  })

  it('KR-20 is at most 1, and is 1 where all items agree', () => {
    fc.assert(
      fc.property(table, (marks) => {
        const { kr20 } = testStatistics(responsesFromMarks(marks))
        if (kr20 !== null) expect(kr20).toBeLessThanOrEqual(1 + 1e-12)
      }),
    )
    expect(
      testStatistics(
        responsesFromMarks([
          [1, 1, 1],
          [0, 0, 0],
          [1, 1, 1],
        ]),
      ).kr20,
    ).toBeCloseTo(1, 12)
  })
})
