import { csvFile, csvResponse } from '@/lib/papers/csv'
import { recordExport } from '@/lib/roster/commands'
import { getRosterPaper } from '@/lib/roster/queries-papers'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { defineRoute } from '@/lib/web/define-route'

export const GET = defineRoute<{ county: string; id: string }>(async (actor, { county, id }) => {
  const { head, seats } = await getRosterPaper(actor, county, id)
  await recordExport(actor, id, 'csv')
  return csvResponse(
    `roster-${county}-${head.heldOn}-version-${head.roster?.version ?? 0}.csv`,
    csvFile(
      ['Place code', 'Place', 'Address', 'Date', 'Shift', 'Position', 'Seat', 'Number', 'Name', 'Phone'],
      seats.map((seat) => [
        seat.placeCode,
        seat.placeName,
        seat.placeAddress,
        seat.servesOn,
        SHIFT_WORDS[seat.shift],
        seat.positionName,
        seat.number,
        seat.person?.countyRef,
        seat.person?.name ?? 'EMPTY',
        seat.person?.phone,
      ]),
    ),
  )
})
