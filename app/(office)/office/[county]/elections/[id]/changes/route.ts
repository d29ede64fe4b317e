import { listChanges } from '@/lib/roster/queries-changes'
import { defineRoute } from '@/lib/web/define-route'

/** What was done to the roster since the state in `seen`: small, so that open boards may ask every few seconds. */
export const GET = defineRoute<{ county: string; id: string }>(async (actor, { county, id }, request) => {
  const seen = new URL(request.url).searchParams.get('seen')
  return Response.json(await listChanges(actor, county, id, seen), {
    headers: { 'Cache-Control': 'no-store' },
  })
})
