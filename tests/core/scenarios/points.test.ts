import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { markOrder, markSpot } from '@/lib/scenarios/core/points'

const things = (wrong: number, right: number) => [
  ...Array.from({ length: wrong }, (_, i) => ({ id: `w${i}`, wrong: true, critical: i === 0 })),
  ...Array.from({ length: right }, (_, i) => ({ id: `r${i}`, wrong: false, critical: false })),
]
const items = (n: number) => Array.from({ length: n }, (_, i) => ({ id: `i${i}` }))

describe('marking a scene (Youden 1950: hit rate − false alarm rate)', () => {
  // By hand: 3 of 4 wrong things, 1 of 5 right ones: 3/4 − 1/5 = 0.55
  it('gives 0.55 for three of four hits with one false alarm among five', () => {
    const result = markSpot({ things: things(4, 5) }, ['w0', 'w1', 'w2', 'r0'])
    expect(result.fraction).toBeCloseTo(0.55, 12)
    expect(result.judgement).toBe('workable')
  })
  it('gives nothing for marking everything and full marks for the wrong things alone', () => {
    const all = things(3, 2)
    expect(
      markSpot(
        { things: all },
        all.map((t) => t.id),
      ).fraction,
    ).toBe(0)
    expect(markSpot({ things: all }, ['w0', 'w1', 'w2'])).toEqual({ fraction: 1, judgement: 'sound' })
  })
  it('is critical where the critical thing is missed, however many others are found', () => {
    expect(markSpot({ things: things(4, 1) }, ['w1', 'w2', 'w3']).judgement).toBe('critical')
  })
})

describe('marking an order (Kendall 1938)', () => {
  // Kendall's example type, by hand: 1 3 2 4 has 5 pairs right, 1 wrong of 6: (5 − 1)/6 = 2/3
  it('gives 2/3 for one swapped neighbour among four', () => {
    expect(markOrder({ items: items(4), critical: [] }, ['i0', 'i2', 'i1', 'i3']).fraction).toBeCloseTo(
      2 / 3,
      12,
    )
  })
  it('gives nothing for a reversed order', () => {
    expect(markOrder({ items: items(5), critical: [] }, ['i4', 'i3', 'i2', 'i1', 'i0']).fraction).toBe(0)
  })
  it('leaves pairs of one rank out', () => {
    const tied = [
      { id: 'a', rank: 1 },
      { id: 'b', rank: 2 },
      { id: 'c', rank: 2 },
    ]
    expect(markOrder({ items: tied, critical: [] }, ['a', 'c', 'b']).fraction).toBe(1)
    // b, a, c: the pairs that count are (b,a) wrong and (a,c) right: 0
    expect(markOrder({ items: tied, critical: [] }, ['b', 'a', 'c']).fraction).toBe(0)
  })
  it('is critical where a critical pair is swapped', () => {
    const step = { items: items(4), critical: [{ before: 'i2', after: 'i3' }] }
    expect(markOrder(step, ['i0', 'i1', 'i3', 'i2']).judgement).toBe('critical')
  })
  it('agrees with 1 − 2 × inversions ÷ pairs, counted by bubble sort', () => {
    fc.assert(
      fc.property(fc.shuffledSubarray([0, 1, 2, 3, 4, 5, 6], { minLength: 7 }), (order) => {
        const list = [...order]
        let swaps = 0
        for (let a = 0; a < 7; a++)
          for (let b = 0; b + 1 < 7; b++)
            if (list[b]! > list[b + 1]!) {
              ;[list[b], list[b + 1]] = [list[b + 1]!, list[b]!]
              swaps++
            }
        const { fraction } = markOrder(
          { items: items(7), critical: [] },
          order.map((i) => `i${i}`),
        )
        expect(fraction).toBeCloseTo(Math.max(0, 1 - (2 * swaps) / 21), 12)
      }),
    )
  })
})
