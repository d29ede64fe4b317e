import * as fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { addDays, type CivilDate, civilDate } from '@/lib/kernel/dates'
import {
  atLeast,
  complement,
  firstDayFrom,
  holdsOn,
  intersect,
  normalise,
  type Span,
  type SpanSet,
  spanOn,
  subtract,
  union,
} from '@/lib/kernel/spans'

/** Ten years, day by day: the brute force that the interval algebra must agree with. One day more than the spans
 *  reach stands for 'ever after'. */
const DAYS: CivilDate[] = Array.from({ length: 3653 }, (_, i) => addDays(civilDate('2020-01-01'), i))
const at = (day: number): CivilDate => DAYS[day]!
const LAST = DAYS.length - 1

const anySpan: fc.Arbitrary<Span> = fc
  .tuple(fc.nat(LAST - 1), fc.option(fc.nat(LAST - 1), { freq: 8 }))
  .map(([from, until]) => ({ from: at(from), until: until === null ? null : at(until) }))
// Short ends near each other, so that spans touch, nest and coincide often.
const closeSpan: fc.Arbitrary<Span> = fc
  .tuple(fc.nat(40), fc.nat(8))
  .map(([from, days]) => ({ from: at(from), until: at(from + days) }))
const rawSpans = fc.oneof(fc.array(anySpan, { maxLength: 8 }), fc.array(closeSpan, { maxLength: 12 }))
const spanSet: fc.Arbitrary<SpanSet> = rawSpans.map(normalise)

const daysOf = (spans: readonly Span[]): boolean[] => {
  const days = Array<boolean>(DAYS.length).fill(false)
  const index = new Map(DAYS.map((d, i) => [d, i]))
  for (const s of spans) {
    const end = s.until === null ? DAYS.length : index.get(s.until)!
    for (let i = index.get(s.from) ?? 0; i < end; i++) days[i] = true
  }
  return days
}

/** Sorted, disjoint, not touching, not empty: so equal sets have equal spans. */
const isCanonical = (spans: readonly Span[]) =>
  spans.every(
    (s, i) =>
      (s.until === null || s.from < s.until) &&
      (i === 0 || (spans[i - 1]!.until !== null && spans[i - 1]!.until! < s.from)),
  )

const same = (spans: Span[], wanted: (day: number) => boolean) => {
  expect(isCanonical(spans)).toBe(true)
  const got = daysOf(spans)
  for (let i = 0; i < DAYS.length; i++)
    if (got[i] !== wanted(i)) throw new Error(`${DAYS[i]}: ${got[i]} in ${JSON.stringify(spans)}`)
}

describe('span sets against a day-by-day brute force over ten years', () => {
  const runs = { numRuns: 200 }

  it('normalise keeps the days', () => {
    fc.assert(
      fc.property(rawSpans, (raw) => {
        const days = daysOf(raw)
        same(normalise(raw), (i) => days[i]!)
      }),
      runs,
    )
  })

  it('union, intersection and difference', () => {
    fc.assert(
      fc.property(spanSet, spanSet, (a, b) => {
        const x = daysOf(a)
        const y = daysOf(b)
        same(union(a, b), (i) => x[i]! || y[i]!)
        same(intersect(a, b), (i) => x[i]! && y[i]!)
        same(subtract(a, b), (i) => x[i]! && !y[i]!)
      }),
      runs,
    )
  })

  it('at least k of several', () => {
    fc.assert(
      fc.property(fc.array(spanSet, { maxLength: 5 }), fc.nat(5), (sets, count) => {
        const days = sets.map(daysOf)
        same(atLeast(count, sets), (i) => days.filter((d) => d[i]).length >= count)
      }),
      runs,
    )
  })

  it('complement', () => {
    fc.assert(
      fc.property(spanSet, (a) => {
        const x = daysOf(a)
        same(complement(a), (i) => !x[i]!)
      }),
      runs,
    )
  })

  it('the span of a day, and the first day from one', () => {
    fc.assert(
      fc.property(spanSet, fc.nat(LAST), (a, day) => {
        const x = daysOf(a)
        expect(holdsOn(a, at(day))).toBe(x[day])
        const span = spanOn(a, at(day))
        if (span) expect(span.from <= at(day) && (span.until === null || at(day) < span.until)).toBe(true)
        const next = x.findIndex((holds, i) => holds && i >= day)
        expect(firstDayFrom(a, at(day))).toBe(next < 0 ? null : at(next))
      }),
      runs,
    )
  })
})

describe('laws', () => {
  it('De Morgan: the complement of a union is the intersection of the complements', () => {
    fc.assert(
      fc.property(spanSet, spanSet, (a, b) => {
        expect(complement(union(a, b))).toEqual(intersect(complement(a), complement(b)))
        expect(complement(intersect(a, b))).toEqual(union(complement(a), complement(b)))
      }),
    )
  })

  it('any is at least one, all is at least as many as there are', () => {
    fc.assert(
      fc.property(fc.array(spanSet, { minLength: 1, maxLength: 4 }), (sets) => {
        expect(atLeast(1, sets)).toEqual(sets.reduce<SpanSet>(union, []))
        expect(atLeast(sets.length, sets)).toEqual(sets.reduce(intersect))
      }),
    )
  })
})
