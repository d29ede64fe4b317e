import { addDays, type CivilDate, daysBetween } from '@/lib/kernel/dates'

/** Half-open stretch of days. */
export interface TimeBin {
  from: CivilDate
  until: CivilDate
}

/** Whole weeks from a day until after another, all of one length, at most `most` of them; the last may reach further.
 *  `last` before `from`: none. O(bins). */
export function timeBins(from: CivilDate, last: CivilDate, most: number): TimeBin[] {
  const days = daysBetween(from, last) + 1
  if (days <= 0) return []
  const width = 7 * Math.max(1, Math.ceil(days / 7 / most))
  return Array.from({ length: Math.ceil(days / width) }, (_, i) => ({
    from: addDays(from, i * width),
    until: addDays(from, (i + 1) * width),
  }))
}

/** How many of the dates fall into each bin. */
export const countIn = (bins: readonly TimeBin[], dates: readonly CivilDate[]): number[] =>
  bins.map((bin) => dates.filter((date) => bin.from <= date && date < bin.until).length)
