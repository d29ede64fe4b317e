import { env } from '@/lib/env'
import { getMyCalendar } from '@/lib/offers/queries-mine'
import { calendarFile, calendarResponse } from '@/lib/papers/calendar'
import { defineRoute } from '@/lib/web/define-route'

export const GET = defineRoute<{ offer: string }>(async (actor, { offer }) =>
  calendarResponse(
    'work.ics',
    calendarFile(await getMyCalendar(actor, offer, `${env().PUBLIC_URL ?? ''}/offers`)),
  ),
)
