import type { Random } from '@/lib/kernel/random'
import type { LatLon } from '@/lib/places/core/distance'
import { type Bounds, chooser, placeLabel, pointNear, type Settlement } from './geography'
import type { IdKind } from './ids'
import { BUILDINGS } from './names'
import type { PollingPlaceRow, PrecinctRow } from './rows'

export interface PlacesWanted {
  countyId: string
  pollingPlaces: number
  earlyVotingSites: number
  precincts: number
  equipmentProfiles: readonly string[]
}

/** Polling places and early-voting sites. The first equipment profile stands in about three places of five. */
export function inventPlaces(
  random: Random,
  nextId: (kind: IdKind) => string,
  wanted: PlacesWanted,
  settlements: readonly Settlement[],
  bounds: Bounds,
): PollingPlaceRow[] {
  const choose = chooser(settlements)
  const taken = new Set<string>()
  const [first = 'profile-a', ...others] = wanted.equipmentProfiles
  return Array.from({ length: wanted.pollingPlaces + wanted.earlyVotingSites }, (_, i) => {
    const early = i >= wanted.pollingPlaces
    // Every settlement has a place before any has a second one; early voting stands where most people live.
    const settlement = early
      ? settlements[(i - wanted.pollingPlaces) % settlements.length]!
      : (settlements[i] ?? choose(random))
    const [lat, lon] = pointNear(
      random,
      settlement.at,
      early ? settlement.spread / 4 : settlement.spread,
      bounds,
    )
    const usual = others.length === 0 || random.next() < 0.6
    return {
      id: nextId('pollingPlace'),
      countyId: wanted.countyId,
      code: early
        ? `E${String(i - wanted.pollingPlaces + 1).padStart(2, '0')}`
        : `P${String(i + 1).padStart(3, '0')}`,
      ...placeLabel(random, settlement.name, taken, early ? ['Early Voting Center'] : BUILDINGS),
      lat,
      lon,
      kind: early ? 'earlyVotingSite' : 'pollingPlace',
      equipmentProfile: early || usual ? first : random.pick(others),
    }
  })
}

/** Precincts, one to three at each polling place. @throws RangeError when they don't fit. */
export function inventPrecincts(
  random: Random,
  nextId: (kind: IdKind) => string,
  wanted: PlacesWanted,
  places: readonly PollingPlaceRow[],
  bounds: Bounds,
): PrecinctRow[] {
  const serving = places.filter((place) => place.kind === 'pollingPlace')
  if (wanted.precincts < serving.length || wanted.precincts > 3 * serving.length)
    throw new RangeError(
      `${serving.length} polling places serve from ${serving.length} to ${3 * serving.length} precincts, not ${wanted.precincts}`,
    )
  const further = random.shuffle([...serving, ...serving]).slice(0, wanted.precincts - serving.length)
  return [...serving, ...further].map((place, i) => {
    const [lat, lon] = pointNear(random, [place.lat, place.lon] as LatLon, 0.012, bounds)
    return {
      id: nextId('precinct'),
      countyId: wanted.countyId,
      code: String(101 + i),
      name: `Precinct ${101 + i}`,
      registeredVoters: 380 + Math.floor(1900 * random.next() ** 1.4),
      lat,
      lon,
      pollingPlaceId: place.id,
    }
  })
}
