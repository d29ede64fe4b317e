import { advanceStory, StoryInput } from '@/lib/assessment/commands'
import { AppError } from '@/lib/kernel/errors'
import { defineRoute } from '@/lib/web/define-route'

/** One event of the story in one's own quiz; answers with the next step, without judgement or key. */
export const POST = defineRoute<{ id: string; n: string }>(async (actor, { id, n }, request) => {
  if (!/^\d{1,3}$/.test(n)) throw new AppError('NOT_FOUND', { userMessage: 'There is no such question.' })
  const body = StoryInput.parse(await request.json().catch(() => null))
  const view = await advanceStory(actor, id, Number(n), body)
  return Response.json(view, { headers: { 'Cache-Control': 'no-store' } })
})
