import { dateInWords } from '@/lib/kernel/date-words'
import type { CivilDate } from '@/lib/kernel/dates'
import type { Locale } from '@/lib/kernel/wording'
import type { DutyHours } from './hours'

const inBoth = (style: Intl.DateTimeFormatOptions) => ({
  en: new Intl.DateTimeFormat('en-US', { ...style, timeZone: 'UTC' }),
  es: new Intl.DateTimeFormat('es-US', { ...style, timeZone: 'UTC' }),
})
// Making one takes longer than using it a hundred times.
const CLOCK = inBoth({ timeStyle: 'short' })
const DAY = inBoth({ dateStyle: 'full' })

/** A wall-clock time in words: '6:00 AM'. Read as UTC, so no zone can shift it. */
export const clockInWords = (time: string, locale: Locale): string =>
  CLOCK[locale].format(new Date(`2000-01-01T${time}:00Z`))

/** A civil date with its weekday: 'Tuesday, November 7, 2028'. */
export const dayInWords = (date: CivilDate, locale: Locale): string =>
  DAY[locale].format(new Date(`${date}T00:00:00Z`))

export const SHIFT_NAMES: Record<Locale, Record<string, string>> = {
  en: { full: 'the whole day', morning: 'the morning', afternoon: 'the afternoon' },
  es: { full: 'todo el día', morning: 'la mañana', afternoon: 'la tarde' },
}

export const hoursInWords = (hours: Pick<DutyHours, 'from' | 'until'>, locale: Locale): string =>
  locale === 'es'
    ? `de ${clockInWords(hours.from, locale)} a ${clockInWords(hours.until, locale)}`
    : `${clockInWords(hours.from, locale)} to ${clockInWords(hours.until, locale)}`

/** Day and hours (or, where they aren't known, the part of the day). */
export const whenOf = (
  seat: { on: CivilDate; shift: string; hours: DutyHours | null },
  locale: Locale,
): string =>
  `${dayInWords(seat.on, locale)}, ${seat.hours ? hoursInWords(seat.hours, locale) : SHIFT_NAMES[locale][seat.shift]}`

export { dateInWords }
