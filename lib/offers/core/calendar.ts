import { addDays, type CivilDate } from '@/lib/kernel/dates'
import { instantAt } from '@/lib/kernel/wall-time'
import type { Locale } from '@/lib/kernel/wording'
import type { DutyHours } from './hours'

/** The evening before, people still find their way. */
const ALARM_MINUTES = 12 * 60

/** A seat as an event of the person's calendar. Where the hours aren't known, the whole day. */
export function calendarOf(
  offer: {
    id: string
    sequence: number
    timeZone: string
    electionName: string
    position: string
    on: CivilDate
    hours: DutyHours | null
    place: { name: string; address: string }
    office: { name: string; officePhone: string }
  },
  locale: Locale,
  made: { url: string | null; at: Date },
) {
  const { hours, on, timeZone } = offer
  const midnight = (date: CivilDate) => new Date(`${date}T00:00:00Z`)
  return {
    uid: `offer-${offer.id}@readiness.invalid`,
    sequence: offer.sequence,
    allDay: hours === null,
    startsAt: hours ? instantAt(on, hours.from, timeZone) : midnight(on),
    endsAt: hours ? instantAt(on, hours.until, timeZone) : midnight(addDays(on, 1)),
    stampedAt: made.at,
    title: locale === 'es' ? `Trabajo electoral: ${offer.position}` : `Work at the polls: ${offer.position}`,
    place: `${offer.place.name}, ${offer.place.address}`,
    description: [offer.electionName, `${offer.office.name} ${offer.office.officePhone}`.trim()].join('\n'),
    url: made.url,
    cancelled: false,
    alarmMinutes: ALARM_MINUTES,
  }
}
