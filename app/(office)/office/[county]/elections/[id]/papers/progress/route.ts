import { getElectionHead } from '@/lib/roster/queries'
import { listOrders } from '@/lib/roster/queries-packet'
import { defineRoute } from '@/lib/web/define-route'
import { stateOf } from '../order'

/** How far the newest packet is: small, so that a page may ask every two seconds. */
export const GET = defineRoute<{ county: string; id: string }>(async (actor, { county, id }) => {
  const head = await getElectionHead(actor, county, id)
  const { newest } = await listOrders(id, head.mark)
  return Response.json(newest && stateOf(newest), { headers: { 'Cache-Control': 'no-store' } })
})
