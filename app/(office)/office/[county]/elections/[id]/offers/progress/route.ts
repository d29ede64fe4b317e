import { getSendingProgress } from '@/lib/offers/queries'
import { defineRoute } from '@/lib/web/define-route'

/** How far the newest sending is: small, so that a page may ask every two seconds. */
export const GET = defineRoute<{ county: string; id: string }>(async (actor, { county, id }) =>
  Response.json(await getSendingProgress(actor, county, id), { headers: { 'Cache-Control': 'no-store' } }),
)
