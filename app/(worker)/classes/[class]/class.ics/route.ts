import { getMyClassOrThrow } from '@/lib/classes/queries-classes'
import { env } from '@/lib/env'
import { calendarFile, calendarResponse } from '@/lib/papers/calendar'
import { defineRoute } from '@/lib/web/define-route'

/** The evening before, people still find their way. */
const ALARM_MINUTES = 24 * 60

export const GET = defineRoute<{ class: string }>(async (actor, { class: id }) => {
  const held = await getMyClassOrThrow(actor, id, actor.locale)
  return calendarResponse(
    `class-${held.heldOn}.ics`,
    calendarFile({
      uid: `class-${held.id}@readiness.invalid`,
      sequence: held.revision,
      startsAt: held.startsAt,
      endsAt: held.endsAt,
      stampedAt: new Date(),
      title: held.title,
      place: `${held.placeName}, ${held.placeAddress}`,
      description: [held.trainerName, held.note].filter(Boolean).join('\n'),
      url: env().PUBLIC_URL ? `${env().PUBLIC_URL}/classes/${held.id}` : null,
      cancelled: held.state === 'cancelled',
      alarmMinutes: ALARM_MINUTES,
    }),
  )
})
