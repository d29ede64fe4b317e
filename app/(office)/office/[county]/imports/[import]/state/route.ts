import { getImport } from '@/lib/exchange/queries'
import { defineRoute } from '@/lib/web/define-route'

/** How far an import is: small, so that a page may ask every two seconds. */
export const GET = defineRoute<{ county: string; import: string }>(async (actor, params) => {
  const { status, stage, progress, cancelAsked, waitedSeconds } = await getImport(
    actor,
    params.county,
    params.import,
  )
  return Response.json(
    { status, stage, progress, cancelAsked, waitedSeconds },
    { headers: { 'Cache-Control': 'no-store' } },
  )
})
