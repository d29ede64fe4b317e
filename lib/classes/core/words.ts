import type { Locale } from '@/lib/kernel/wording'

const LANGUAGE: Record<Locale, string> = { en: 'en-US', es: 'es-US' }

/** Day and times of a class on the county's clocks: 'Tuesday, October 6, 2026, 6:00 PM to 8:30 PM'. */
export function whenInWords(startsAt: Date, endsAt: Date, timeZone: string, locale: Locale): string {
  const day = new Intl.DateTimeFormat(LANGUAGE[locale], { dateStyle: 'full', timeZone }).format(startsAt)
  const time = new Intl.DateTimeFormat(LANGUAGE[locale], { timeStyle: 'short', timeZone })
  return locale === 'es'
    ? `${day}, de ${time.format(startsAt)} a ${time.format(endsAt)}`
    : `${day}, ${time.format(startsAt)} to ${time.format(endsAt)}`
}
