import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import {
  addDays,
  addMonths,
  type CivilDate,
  civilDate,
  civilDateAt,
  daysBetween,
  electionDay,
  isCivilDate,
  nextFederalElection,
} from '@/lib/kernel/dates'
import { inTwoZones } from './two-zones'

/** tests/reference/dates/SOURCE.md: another Temporal implementation, each row confirmed with R's lubridate. */
const reference = JSON.parse(readFileSync('tests/reference/dates/temporal_reference.json', 'utf8')) as {
  add_months: [CivilDate, number, CivilDate, string][]
  add_years: [CivilDate, number, CivilDate][]
  election_days: Record<string, string>
  tz: [CivilDate, string, string][]
}
const published = JSON.parse(
  readFileSync('tests/reference/dates/published_presidential_election_days.json', 'utf8'),
) as Record<string, string>

inTwoZones('calendar months', () => {
  it('agrees with all 361 rows of the reference', () => {
    const wrong = [
      ...reference.add_months
        .filter(([from, months, to]) => addMonths(from, months) !== to)
        .map((row) => `months ${row}`),
      ...reference.add_years
        .filter(([from, years, to]) => addMonths(from, years * 12) !== to)
        .map((row) => `years ${row}`),
    ]
    expect(wrong).toEqual([])
    expect(reference.add_months.length + reference.add_years.length).toBe(361)
  })

  it('treats leap days by the calendar', () => {
    const on = civilDate('2024-02-29')
    expect(addMonths(on, 12)).toBe('2025-02-28')
    expect(addMonths(on, 48)).toBe('2028-02-29')
    // 2100 is not a leap year: divisible by 100, not by 400. Four years after 29 February 2096 is the 28th.
    expect(addMonths(civilDate('2096-02-29'), 48)).toBe('2100-02-28')
    expect(addDays(on, 1)).toBe('2024-03-01')
    expect(daysBetween(civilDate('2024-02-28'), civilDate('2024-03-01'))).toBe(2)
    expect(daysBetween(civilDate('2023-02-28'), civilDate('2023-03-01'))).toBe(1)
    expect(isCivilDate('2023-02-29')).toBe(false)
    expect(isCivilDate('2100-02-29')).toBe(false)
    expect(isCivilDate('2000-02-29')).toBe(true)
  })
})

inTwoZones('election days', () => {
  it('agree with the published presidential election days since 1848', () => {
    expect(Object.keys(published).length).toBe(44)
    for (const [year, on] of Object.entries(published)) expect(electionDay(Number(year))).toBe(on)
  })

  it('agree with the reference for every year', () => {
    expect(Object.keys(reference.election_days).length).toBe(216)
    for (const [year, on] of Object.entries(reference.election_days))
      expect(electionDay(Number(year))).toBe(on)
  })

  it('fall on a Tuesday from 2 to 8 November (2 U.S.C. 7)', () => {
    for (let year = 1845; year <= 2200; year++) {
      const on = electionDay(year)
      expect(new Date(`${on}T12:00:00Z`).getUTCDay()).toBe(2)
      expect(on >= `${year}-11-02` && on <= `${year}-11-08`).toBe(true)
    }
  })

  it('are every second year for the nation', () => {
    expect(nextFederalElection(civilDate('2026-11-03'))).toBe('2026-11-03')
    expect(nextFederalElection(civilDate('2026-11-04'))).toBe('2028-11-07')
    expect(nextFederalElection(civilDate('2027-01-01'))).toBe('2028-11-07')
  })
})

inTwoZones('the date of an instant', () => {
  it('changes at the county’s midnight, by the offsets of the reference', () => {
    for (const [date, zone, offset] of reference.tz) {
      const midnight = new Date(`${date}T00:00:00${offset}`)
      expect(civilDateAt(midnight, zone)).toBe(date)
      expect(civilDateAt(new Date(midnight.getTime() - 1), zone)).toBe(addDays(date, -1))
    }
  })
})

describe('civil dates', () => {
  it.each([
    '2026-2-01',
    '2026-02-30',
    '2026-13-01',
    '26-01-01',
    '2026-01-01T00:00',
    '1799-12-31',
    '3000-01-01',
    '',
  ])('refuses %j', (text) => {
    expect(isCivilDate(text)).toBe(false)
    expect(() => civilDate(text)).toThrow(RangeError)
  })
})
