import { Temporal } from 'temporal-polyfill'
import type { CivilDate } from './dates'

/** A time on the wall clock, `HH:MM`, 24 hours. */
export type WallTime = string & { readonly __brand: 'WallTime' }

export const isWallTime = (text: unknown): text is WallTime =>
  typeof text === 'string' && /^([01]\d|2[0-3]):[0-5]\d$/.test(text)

/** The instant at which the clocks of a zone show this date and time. Where they skip it, the same stretch later; where
 *  they show it twice, the first time ('compatible', as calendars do: RFC 5545, 3.3.5). */
export const instantAt = (date: CivilDate, time: WallTime, timeZone: string): Date =>
  new Date(
    Temporal.PlainDateTime.from(`${date}T${time}`).toZonedDateTime(timeZone, { disambiguation: 'compatible' })
      .epochMilliseconds,
  )

/** What the clocks of a zone show at an instant. */
export function wallTimeAt(instant: Date, timeZone: string): { date: CivilDate; time: WallTime } {
  const zoned = Temporal.Instant.fromEpochMilliseconds(instant.getTime()).toZonedDateTimeISO(timeZone)
  return {
    date: zoned.toPlainDate().toString() as CivilDate,
    time: zoned.toPlainTime().toString({ smallestUnit: 'minute' }) as WallTime,
  }
}
