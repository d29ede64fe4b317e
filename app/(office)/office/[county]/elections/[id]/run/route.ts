import { getElectionHead, getRuns } from '@/lib/roster/queries'
import { defineRoute } from '@/lib/web/define-route'

/** How far the newest run is: small, so that a page may ask every two seconds. */
export const GET = defineRoute<{ county: string; id: string }>(async (actor, { county, id }) => {
  await getElectionHead(actor, county, id)
  const { newest } = await getRuns(id)
  return Response.json(
    newest && {
      status: newest.status,
      stage: newest.stage,
      progress: newest.progress,
      cancelAsked: newest.cancelAsked,
      waitedSeconds: newest.waitedSeconds,
    },
    { headers: { 'Cache-Control': 'no-store' } },
  )
})
