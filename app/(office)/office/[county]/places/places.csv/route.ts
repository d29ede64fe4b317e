import { csvList, csvResponse } from '@/lib/papers/csv'
import { listAllPlaces } from '@/lib/places/queries'
import { recordListExport } from '@/lib/record/commands'
import { defineRoute } from '@/lib/web/define-route'
import { placeFilterIn } from '../filter'
import { PLACE_KINDS } from '../words'

/** The list of places as its filter shows it, all pages. Precincts and voters are sums here, and named so that an
 *  import doesn't take them for a precinct's. */
export const GET = defineRoute<{ county: string }>(async (actor, { county }, request) => {
  const filter = placeFilterIn(Object.fromEntries(new URL(request.url).searchParams))
  const places = await listAllPlaces(actor, county, filter)
  await recordListExport(actor, county, 'readRoster', { list: 'places', rows: places.length })
  return csvResponse(
    `places-${county}.csv`,
    csvList(
      [
        { name: 'Place code', of: (p) => p.code },
        { name: 'Name', of: (p) => p.name },
        { name: 'Address', of: (p) => p.address },
        { name: 'Latitude', of: (p) => (p.located ? p.lat : null) },
        { name: 'Longitude', of: (p) => (p.located ? p.lon : null) },
        { name: 'Kind', of: (p) => PLACE_KINDS[p.kind] },
        { name: 'Equipment profile', of: (p) => p.equipmentProfile },
        { name: 'Serves precincts', of: (p) => p.precinctCodes.join('; ') },
        { name: 'Registered voters of all', of: (p) => p.registeredVoters },
        { name: 'Devices', of: (p) => p.devices },
        { name: 'Whom to call', of: (p) => p.contactName },
        { name: 'Their phone', of: (p) => p.contactPhone },
        { name: 'Access surveyed on', of: (p) => p.surveyedOn },
        { name: 'Measures that fall short', of: (p) => (p.surveyedOn === null ? null : p.fallsShort) },
      ],
      places,
    ),
  )
})
