import { csvFile, csvResponse } from '@/lib/papers/csv'
import { recordExport } from '@/lib/roster/commands'
import { getTrainingList } from '@/lib/roster/queries-papers'
import { defineRoute } from '@/lib/web/define-route'

export const GET = defineRoute<{ county: string; id: string }>(async (actor, { county, id }) => {
  const list = await getTrainingList(actor, county, id)
  await recordExport(actor, id, 'training-csv')
  return csvResponse(
    `whom-to-train-${county}-${list.head.heldOn}.csv`,
    csvFile(
      [
        'Number',
        'Name',
        'Phone',
        'Train for',
        'Still to do',
        'Would sit as',
        'So that this seat is filled',
        'Wishes of the county met by it',
      ],
      list.lines.map((line) => [
        line.countyRef,
        line.name,
        line.phone,
        line.certificateName,
        line.missing.join('; '),
        line.takes.text,
        line.seats.map((seat) => seat.text).join('; '),
        line.mends === 0 ? '' : String(line.mends),
      ]),
    ),
  )
})
