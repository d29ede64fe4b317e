import { csvFile, csvResponse } from '@/lib/papers/csv'
import { areaIn } from '@/lib/places/core/area'
import { recordExport } from '@/lib/roster/commands'
import { getBoard } from '@/lib/roster/queries'
import { getRosterPaper } from '@/lib/roster/queries-papers'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { defineRoute } from '@/lib/web/define-route'

/** The roster as a file; with the board's filter in the address, the places that it lets through. */
export const GET = defineRoute<{ county: string; id: string }>(async (actor, { county, id }, request) => {
  const filter = Object.fromEntries(new URL(request.url).searchParams) as Record<string, string | undefined>
  const { head, seats } = await getRosterPaper(actor, county, id)
  const only = Object.keys(filter).length > 0 ? await matchingPlaces() : null
  await recordExport(actor, id, 'csv')
  return csvResponse(
    `roster-${county}-${head.heldOn}-version-${head.roster?.version ?? 0}.csv`,
    csvFile(
      ['Place code', 'Place', 'Address', 'Date', 'Shift', 'Position', 'Seat', 'Number', 'Name', 'Phone'],
      seats
        .filter((seat) => !only || only.has(seat.placeId))
        .map((seat) => [
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

  async function matchingPlaces(): Promise<Set<string>> {
    const { show } = filter
    const { places } = await getBoard(actor, county, id, {
      placeId: filter.place,
      name: filter.name,
      positionKey: filter.position,
      show: show === 'empty' || show === 'misplaced' ? show : 'all',
      area: areaIn(filter.area) ?? undefined,
    })
    return new Set(places.filter((p) => p.matches).map((p) => p.id))
  }
})
