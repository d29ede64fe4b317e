import ical, { ICalCalendarMethod, ICalEventStatus } from 'ical-generator'

export interface CalendarEvent {
  /** The same for all versions of an event. */
  uid: string
  /** Counts changes (RFC 5545, 3.8.7.4). */
  sequence: number
  /** From one civil date to another (the end not included), both as midnight UTC. */
  allDay?: boolean
  startsAt: Date
  endsAt: Date
  stampedAt: Date
  title: string
  place: string
  description: string
  url: string | null
  cancelled: boolean
  /** Minutes before the start. */
  alarmMinutes: number
}

/** One event as an iCalendar file (RFC 5545). Times are in UTC: every calendar shows them on its own clock. */
export function calendarFile(event: CalendarEvent): string {
  const calendar = ical({
    prodId: { company: 'Election office', product: 'Poll worker readiness' },
    method: event.cancelled ? ICalCalendarMethod.CANCEL : ICalCalendarMethod.PUBLISH,
  })
  const made = calendar.createEvent({
    id: event.uid,
    sequence: event.sequence,
    start: event.startsAt,
    end: event.endsAt,
    allDay: event.allDay ?? false,
    stamp: event.stampedAt,
    summary: event.title,
    location: event.place,
    description: event.description,
    url: event.url,
    status: event.cancelled ? ICalEventStatus.CANCELLED : ICalEventStatus.CONFIRMED,
  })
  if (!event.cancelled)
    made.createAlarm({ type: 'display' as never, trigger: event.alarmMinutes * 60, description: event.title })
  return calendar.toString()
}

export const calendarResponse = (fileName: string, text: string): Response =>
  new Response(text, {
    headers: {
      'Content-Type': 'text/calendar; charset=utf-8',
      'Content-Disposition': `attachment; filename="${fileName.replace(/[^A-Za-z0-9._-]+/g, '-')}"`,
      'Cache-Control': 'no-store',
    },
  })
