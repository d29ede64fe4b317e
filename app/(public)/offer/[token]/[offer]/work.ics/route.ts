import { AppError } from '@/lib/kernel/errors'
import { getCalendarByLink } from '@/lib/offers/queries-mine'
import { calendarFile, calendarResponse } from '@/lib/papers/calendar'
import { preferences } from '@/lib/web/preferences'

/** The calendar file by the link of a letter. The link itself is not in it: calendars are shared and kept elsewhere. */
export async function GET(
  _request: Request,
  { params }: { params: Promise<{ token: string; offer: string }> },
): Promise<Response> {
  const { token, offer } = await params
  try {
    const { locale } = await preferences()
    return calendarResponse('work.ics', calendarFile(await getCalendarByLink(token, offer, locale)))
  } catch (error) {
    if (error instanceof AppError)
      return Response.json(
        { message: error.userMessage },
        { status: 404, headers: { 'Cache-Control': 'no-store' } },
      )
    throw error
  }
}
