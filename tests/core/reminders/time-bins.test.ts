import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { addDays, type CivilDate, daysBetween } from '@/lib/kernel/dates'
import { countIn, timeBins } from '@/lib/reminders/core/time-bins'

const day = (text: string) => text as CivilDate

describe('stretches of weeks', () => {
  it('are single weeks while they fit, longer where they do not', () => {
    expect(timeBins(day('2028-10-24'), day('2028-11-07'), 12)).toEqual([
      { from: '2028-10-24', until: '2028-10-31' },
      { from: '2028-10-31', until: '2028-11-07' },
      { from: '2028-11-07', until: '2028-11-14' },
    ])
    // 53 weeks in at most 12 stretches: five weeks each.
    expect(timeBins(day('2027-11-04'), day('2028-11-07'), 12)[0]).toEqual({
      from: '2027-11-04',
      until: '2027-12-09',
    })
    expect(timeBins(day('2028-11-08'), day('2028-11-07'), 12)).toEqual([])
  })

  it('law: every day up to the last falls into exactly one, and there are not too many', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 900 }),
        fc.integer({ min: 1, max: 15 }),
        fc.array(fc.nat(), { maxLength: 20 }),
        (length, most, picks) => {
          const from = day('2027-01-05')
          const last = addDays(from, length)
          const bins = timeBins(from, last, most)
          expect(bins.length).toBeLessThanOrEqual(most)
          for (const bin of bins) expect(daysBetween(bin.from, bin.until) % 7).toBe(0)
          const dates = picks.map((n) => addDays(from, n % (length + 1)))
          expect(countIn(bins, dates).reduce((a, b) => a + b, 0)).toBe(dates.length)
        },
      ),
    )
  })
})
