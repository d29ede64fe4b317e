import { csvList, csvResponse } from '@/lib/papers/csv'
import { recordListExport } from '@/lib/record/commands'
import { getLapses } from '@/lib/reminders/queries'
import { defineRoute } from '@/lib/web/define-route'
import { lastDayOf } from '../../../../parts/words'
import { rowsShown } from '../rows-shown'

/** Who lapses before election day, as the filter shows them, all rows. */
export const GET = defineRoute<{ county: string }>(async (actor, { county }, request) => {
  const view = await getLapses(actor, county)
  const rows = rowsShown(view, Object.fromEntries(new URL(request.url).searchParams))
  const placeName = new Map(view.byPlace.map((place) => [place.id, place.name]))
  await recordListExport(actor, county, 'readRoster', { list: 'lapses', rows: rows.length })
  return csvResponse(
    `who-lapses-${county}-${view.election?.heldOn ?? view.today}.csv`,
    csvList(
      [
        { name: 'County number', of: (row) => row.countyRef },
        { name: 'Name', of: (row) => row.name },
        { name: 'Certificate', of: (row) => row.certificateName },
        { name: 'Last day', of: (row) => lastDayOf(row.lapsesOn) },
        { name: 'Seat', of: (row) => (row.placeId ? placeName.get(row.placeId) : null) },
        { name: 'Written to', of: (row) => row.written },
      ],
      rows,
    ),
  )
})
