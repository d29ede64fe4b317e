import { evidenceDatesFor } from '@/lib/certification/core/window'
import type { EvidenceRule } from '@/lib/certification/schema'
import { addDays, addMonths, type CivilDate, earlierOf, laterOf } from '@/lib/kernel/dates'
import type { Random } from '@/lib/kernel/random'
import { daysFrom, isSunday, plusDays } from './day-numbers'

/** First and last day, both included. */
export interface DayRange {
  first: CivilDate
  last: CivilDate
}

/** Deeds of four times in a county's life, by when they count:
 *  `fresh` on election day; `fading` on the date of the seed but no longer on election day; `stale` neither;
 *  `former` on the election before. */
export type Season = 'fresh' | 'fading' | 'stale' | 'former'

/** The dates around which a history is told. */
export interface Calendar {
  today: CivilDate
  previousElectionOn: CivilDate
  electionOn: CivilDate
}

const HISTORY_MONTHS = 36
/** Most people renew within the last thirteen months, not as early as it would still count. */
const FRESH_MONTHS = 13

/** The last three years, up to yesterday. */
export const historyOf = ({ today }: Calendar): DayRange => ({
  first: addMonths(today, -HISTORY_MONTHS),
  last: addDays(today, -1),
})

/** The days on which evidence for a rule belongs to a season, or null where there are none. Shortly before and after
 *  an election some seasons are empty: nothing can lapse between today and an election of today. */
export function seasonOf(rule: EvidenceRule, season: Season, calendar: Calendar): DayRange | null {
  const history = historyOf(calendar)
  const { today, electionOn, previousElectionOn } = calendar
  const firstCounting = (on: CivilDate, heldOn: CivilDate) => {
    const dates = evidenceDatesFor(rule.window, on, [{ id: 'election', heldOn }])
    return dates === undefined ? null : (dates.doFrom ?? history.first)
  }
  const forElection = firstCounting(electionOn, electionOn)
  const forToday = firstCounting(today, electionOn)
  const within = (first: CivilDate | null, last: CivilDate): DayRange | null => {
    if (first === null) return null
    const range = { first: laterOf(first, history.first), last: earlierOf(last, history.last) }
    return range.first <= range.last ? range : null
  }
  if (rule.window.kind === 'always') return history
  switch (season) {
    case 'fresh':
      return within(forElection && laterOf(forElection, addMonths(today, -FRESH_MONTHS)), history.last)
    case 'fading':
      return forElection && within(forToday, addDays(forElection, -1))
    case 'stale':
      return forToday && within(history.first, addDays(earlierOf(forToday, forElection ?? forToday), -1))
    case 'former':
      return within(
        firstCounting(previousElectionOn, previousElectionOn),
        earlierOf(addDays(previousElectionOn, -3), forElection ? addDays(forElection, -1) : history.last),
      )
  }
}

/** The days in every one of the ranges; null where there are none. */
export function overlap(ranges: readonly (DayRange | null)[]): DayRange | null {
  let both: DayRange | null = null
  for (const range of ranges) {
    if (range === null) return null
    both =
      both === null
        ? range
        : { first: laterOf(both.first, range.first), last: earlierOf(both.last, range.last) }
    if (both.first > both.last) return null
  }
  return both
}

export const drawDay = (random: Random, range: DayRange): CivilDate =>
  plusDays(range.first, random.below(daysFrom(range.first, range.last) + 1))

export const clampDay = (on: CivilDate, range: DayRange): CivilDate =>
  laterOf(range.first, earlierOf(range.last, on))

/** The day, or a neighbour when it is a Sunday: nobody holds a class then. Stays within the range. */
export function notSunday(on: CivilDate, range: DayRange): CivilDate {
  if (!isSunday(on)) return on
  const before = plusDays(on, -1)
  const after = plusDays(on, 1)
  return before >= range.first ? before : after <= range.last ? after : on
}
