import { csvFile, csvResponse } from '@/lib/papers/csv'
import { recordExport } from '@/lib/roster/commands'
import { getComparison } from '@/lib/roster/queries-compare'
import { defineRoute } from '@/lib/web/define-route'

export const GET = defineRoute<{ county: string; id: string }>(async (actor, { county, id }, request) => {
  const asked = new URL(request.url).searchParams.get('with') ?? undefined
  const { head, against, seats } = await getComparison(actor, county, id, { with: asked, all: true })
  await recordExport(actor, id, 'compare-csv')
  return csvResponse(
    `roster-${county}-${head.heldOn}-compared-with-${against?.key ?? 'nothing'}.csv`,
    csvFile(
      ['Seat', 'Before', 'Now'],
      seats.map((s) => [s.text, s.before?.name ?? 'EMPTY', s.after?.name ?? 'EMPTY']),
    ),
  )
})
