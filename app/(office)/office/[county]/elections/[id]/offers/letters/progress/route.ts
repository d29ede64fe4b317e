import { getLettersProgress } from '@/lib/offers/queries-letters'
import { defineRoute } from '@/lib/web/define-route'
import { stateOf } from '../../../papers/order'

/** How far the letters of a sending (`?sending=`) are: small, so that a page may ask every two seconds. */
export const GET = defineRoute<{ county: string; id: string }>(async (actor, { county, id }, request) => {
  const sendingId = new URL(request.url).searchParams.get('sending') ?? ''
  const newest = await getLettersProgress(actor, county, id, sendingId)
  return Response.json(newest && stateOf(newest), { headers: { 'Cache-Control': 'no-store' } })
})
