import { describe, expect, it } from 'vitest'
import { KM_PER_MILE, milesText, toKm, toMiles } from '@/lib/kernel/miles'

describe('miles', () => {
  it('is the international mile: 5,280 feet of 0.3048 m (NIST SP 811, appendix B.8)', () => {
    expect(KM_PER_MILE).toBeCloseTo((5280 * 0.3048) / 1000, 12)
  })
  it('gives the marathon of 42.195 km as 26.2 miles (common knowledge), and back', () => {
    expect(toMiles(42.195)).toBeCloseTo(26.2188, 4)
    expect(toKm(toMiles(42.195))).toBeCloseTo(42.195, 12)
  })
  it('says one decimal below ten, and a single mile in the singular', () => {
    expect([0, 1.609344, 5.56, 16, 32].map(milesText)).toEqual([
      '0.0 miles',
      '1.0 mile',
      '3.5 miles',
      '9.9 miles',
      '20 miles',
    ])
  })
})
