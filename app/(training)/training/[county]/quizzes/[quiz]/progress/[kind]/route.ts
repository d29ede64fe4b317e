import { StopWorkInput } from '@/lib/assessment/commands-work'
import { getWorkState } from '@/lib/assessment/queries-work'
import { defineRoute } from '@/lib/web/define-route'

/** How far the newest work on a quiz is: small, so that a page may ask again and again. */
export const GET = defineRoute<{ county: string; quiz: string; kind: string }>(
  async (actor, { county, quiz, kind }) =>
    Response.json(await getWorkState(actor, county, quiz, StopWorkInput.shape.kind.parse(kind)), {
      headers: { 'Cache-Control': 'no-store' },
    }),
)
