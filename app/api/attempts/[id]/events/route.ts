import { AppendInput, appendLessonEvents } from '@/lib/scenarios/commands'
import { getLessonAttemptOrThrow } from '@/lib/scenarios/queries'
import { defineRoute } from '@/lib/web/define-route'

const NO_STORE = { 'Cache-Control': 'no-store' }

/** The log of one's own lesson, to go on with it on another device. */
export const GET = defineRoute<{ id: string }>(async (actor, { id }) => {
  const { events, finished } = await getLessonAttemptOrThrow(actor, id)
  return Response.json({ count: events.length, events, finished }, { headers: NO_STORE })
})

/** Adds events to it. 409 with the stored log where the two histories differ. */
export const POST = defineRoute<{ id: string }>(async (actor, { id }, request) => {
  const body = AppendInput.parse(await request.json().catch(() => null))
  const appended = await appendLessonEvents(actor, id, body)
  if (appended.status === 'stored') return Response.json(appended, { headers: NO_STORE })
  return Response.json({ code: 'CONFLICT', ...appended }, { status: 409, headers: NO_STORE })
})
