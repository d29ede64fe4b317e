import { addDays, addMonths, type CivilDate, laterOf } from '@/lib/kernel/dates'
import { unreachable } from '@/lib/kernel/errors'
import { normalise, type Span } from '@/lib/kernel/spans'
import type { ElectionDate, Window } from '../schema'

/** First day and end (exclusive) of the cycle that holds `on`. Cycles are counted from the anchor itself, so an
 *  anchor on the 31st doesn't drift to the 28th. */
export function cycleOf(
  cycleStartsOn: CivilDate,
  cycleMonths: number,
  on: CivilDate,
): Span & { until: CivilDate } {
  const monthsOf = (date: CivilDate) => Number(date.slice(0, 4)) * 12 + Number(date.slice(5, 7))
  let index = Math.floor((monthsOf(on) - monthsOf(cycleStartsOn)) / cycleMonths)
  // The estimate looks at months only; the day of the month can move it by one.
  while (addMonths(cycleStartsOn, index * cycleMonths) > on) index--
  while (addMonths(cycleStartsOn, (index + 1) * cycleMonths) <= on) index++
  return {
    from: addMonths(cycleStartsOn, index * cycleMonths),
    until: addMonths(cycleStartsOn, (index + 1) * cycleMonths),
  }
}

/** The days on which evidence of `on` counts: one span or none. O(elections). */
export function windowSpan(
  window: Window,
  on: CivilDate,
  electionId: string | null | undefined,
  elections: readonly ElectionDate[],
): Span | null {
  switch (window.kind) {
    case 'always':
      return { from: on, until: null }
    case 'months':
      return { from: on, until: addMonths(on, window.months) }
    case 'fixedDate':
      return on < window.until ? { from: on, until: window.until } : null
    case 'untilEndOfNextCycle': {
      const cycle = cycleOf(window.cycleStartsOn, window.cycleMonths, on)
      return { from: on, until: cycleOf(window.cycleStartsOn, window.cycleMonths, cycle.until).until }
    }
    case 'afterCycle': {
      const cycle = cycleOf(window.cycleStartsOn, window.cycleMonths, on)
      return { from: on, until: addMonths(cycle.until, window.plusMonths) }
    }
    case 'daysBeforeElection':
      return throughLast(on, elections, (heldOn) => addDays(heldOn, -window.days) <= on)
    case 'monthsBeforeElection':
      return throughLast(on, elections, (heldOn) => addMonths(heldOn, -window.months) <= on)
    case 'sameElection':
      return throughLast(on, elections, (_, id) => id === electionId)
    default:
      return unreachable(window)
  }
}

/** From `on` through the last election day, not before `on`, that `counts`. */
function throughLast(
  on: CivilDate,
  elections: readonly ElectionDate[],
  counts: (heldOn: CivilDate, id: string) => boolean,
): Span | null {
  let last: CivilDate | null = null
  for (const { id, heldOn } of elections)
    if (heldOn >= on && (last === null || heldOn > last) && counts(heldOn, id)) last = heldOn
  return last === null ? null : { from: on, until: addDays(last, 1) }
}

/** The days on which evidence gathered on or after `today` could count, if nothing but the window stood in the
 *  way: day d is in it when some evidence date from `today` to d would count on d. */
export function possibleSpans(window: Window, today: CivilDate, elections: readonly ElectionDate[]): Span[] {
  switch (window.kind) {
    case 'always':
    case 'months':
    case 'untilEndOfNextCycle':
    case 'afterCycle':
      return [{ from: today, until: null }]
    case 'fixedDate':
      return today < window.until ? [{ from: today, until: window.until }] : []
    case 'daysBeforeElection':
    case 'monthsBeforeElection':
    case 'sameElection':
      return normalise(
        elections
          .filter(({ heldOn }) => heldOn >= today)
          .map(({ heldOn }) => ({
            from: laterOf(today, firstFor(window, heldOn) ?? today),
            until: addDays(heldOn, 1),
          })),
      )
    default:
      return unreachable(window)
  }
}

const firstFor = (
  window: Extract<Window, { kind: 'daysBeforeElection' | 'monthsBeforeElection' | 'sameElection' }>,
  heldOn: CivilDate,
): CivilDate | null =>
  window.kind === 'daysBeforeElection'
    ? addDays(heldOn, -window.days)
    : window.kind === 'monthsBeforeElection'
      ? addMonths(heldOn, -window.months)
      : null

/** Which evidence dates would count on `date`: from `doFrom` (null: however early) through `date`. `undefined`
 *  where no evidence date can (its fixed end has passed; no election from that day on). */
export function evidenceDatesFor(
  window: Window,
  date: CivilDate,
  elections: readonly ElectionDate[],
): { doFrom: CivilDate | null } | undefined {
  switch (window.kind) {
    case 'always':
      return { doFrom: null }
    case 'months': {
      // addMonths never goes down as its date goes up, and constrains by at most three days: few steps.
      let doFrom = addMonths(date, -window.months)
      while (addMonths(doFrom, window.months) <= date) doFrom = addDays(doFrom, 1)
      return { doFrom }
    }
    case 'fixedDate':
      return date < window.until ? { doFrom: null } : undefined
    case 'untilEndOfNextCycle': {
      const cycle = cycleOf(window.cycleStartsOn, window.cycleMonths, date)
      return { doFrom: cycleOf(window.cycleStartsOn, window.cycleMonths, addDays(cycle.from, -1)).from }
    }
    case 'afterCycle': {
      let cycle = cycleOf(window.cycleStartsOn, window.cycleMonths, date)
      for (;;) {
        const before = cycleOf(window.cycleStartsOn, window.cycleMonths, addDays(cycle.from, -1))
        if (addMonths(before.until, window.plusMonths) <= date) return { doFrom: cycle.from }
        cycle = before
      }
    }
    case 'daysBeforeElection':
    case 'monthsBeforeElection':
    case 'sameElection': {
      const starts = elections
        .filter(({ heldOn }) => heldOn >= date)
        .map(({ heldOn }) => firstFor(window, heldOn))
        .filter((first) => first === null || first <= date)
      if (starts.length === 0) return undefined
      if (starts.includes(null)) return { doFrom: null }
      return { doFrom: (starts as CivilDate[]).reduce((a, b) => (a < b ? a : b)) }
    }
    default:
      return unreachable(window)
  }
}
