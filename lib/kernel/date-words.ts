import { addDays, type CivilDate } from './dates'
import type { Locale } from './wording'

const REGION = { en: 'en-US', es: 'es-US' } as const

// Making one takes longer than using it a hundred times.
const LONG = {
  en: new Intl.DateTimeFormat(REGION.en, { dateStyle: 'long', timeZone: 'UTC' }),
  es: new Intl.DateTimeFormat(REGION.es, { dateStyle: 'long', timeZone: 'UTC' }),
}

/** A civil date in words: 'November 7, 2028', '7 de noviembre de 2028'. Read as UTC, so no zone can shift it. */
export const dateInWords = (date: CivilDate, locale: Locale): string =>
  LONG[locale].format(new Date(`${date}T00:00:00Z`))

/** The last day of something that ends before `until`. */
export const lastDayInWords = (until: CivilDate, locale: Locale): string =>
  dateInWords(addDays(until, -1), locale)

/** An instant as a time of day on the county's wall clock: '3:05 PM'. */
export const timeInWords = (instant: Date, timeZone: string, locale: Locale): string =>
  new Intl.DateTimeFormat(REGION[locale], { timeStyle: 'short', timeZone }).format(instant)
