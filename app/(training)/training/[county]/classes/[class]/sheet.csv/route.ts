import { can } from '@/lib/auth/permissions'
import { getClassSheetOrThrow } from '@/lib/classes/queries-classes'
import { csvList, csvResponse } from '@/lib/papers/csv'
import { recordListExport } from '@/lib/record/commands'
import { defineRoute } from '@/lib/web/define-route'

/** A class's list of people; accommodations only for those who may read them. */
export const GET = defineRoute<{ county: string; class: string }>(async (actor, params) => {
  const { county } = params
  const { summary, rows } = await getClassSheetOrThrow(actor, county, params.class)
  await recordListExport(actor, county, 'manageClasses', { list: `class ${summary.id}`, rows: rows.length })
  return csvResponse(
    `class-${summary.heldOn}.csv`,
    csvList(
      [
        { name: 'County number', of: (row) => row.countyRef },
        { name: 'Name', of: (row) => row.name },
        { name: 'Wants to work as', of: (row) => row.wants },
        { name: 'Seat', of: (row) => (row.state.state === 'waiting' ? 'waiting' : 'has a seat') },
        { name: 'Signed in', of: (row) => row.signedIn },
        {
          name: 'Accommodations',
          of: (row) => row.accommodations,
          shown: can(actor, 'readAccommodations', county),
        },
        {
          name: 'Still to show by hand',
          of: (row) =>
            row.tasks
              .filter((task) => task.missing)
              .map((task) => task.label.en)
              .join('; '),
        },
      ],
      rows,
    ),
  )
})
