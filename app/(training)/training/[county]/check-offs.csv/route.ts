import { listTrainees } from '@/lib/classes/queries'
import { csvList, csvResponse } from '@/lib/papers/csv'
import { recordListExport } from '@/lib/record/commands'
import { defineRoute } from '@/lib/web/define-route'

/** Who still has to show what by hand, all pages of the list that a search shows. */
export const GET = defineRoute<{ county: string }>(async (actor, { county }, request) => {
  const search = new URL(request.url).searchParams.get('search')?.slice(0, 100) ?? ''
  const { rows } = await listTrainees(actor, county, { search, page: 'all' })
  await recordListExport(actor, county, 'recordCheckOff', { list: 'check-offs', rows: rows.length })
  return csvResponse(
    `check-offs-${county}.csv`,
    csvList(
      [
        { name: 'County number', of: (row) => row.countyRef },
        { name: 'Name', of: (row) => row.name },
        { name: 'Wants to work as', of: (row) => row.wants?.en },
        { name: 'Still to show by hand', of: (row) => row.missing.map((task) => task.label.en).join('; ') },
        { name: 'Other steps open', of: (row) => (row.wants ? row.otherMissing : null) },
      ],
      rows,
    ),
  )
})
