/** Invented counties, and counties with the real coordinates in tests/reference/places, by name: `300/3000`, `dane`,
 *  `maricopa`, `300/3000/10` (10 % of the people serve half a day). */
import { readFileSync } from 'node:fs'
import path from 'node:path'
import type { RosterInstance } from '@/lib/roster/schema'
import { county } from '../../core/roster/county'

const FILES: Record<string, string> = {
  dane: 'mid_Dane_WI_polling_places_2016_latlon.csv',
  maricopa: 'very_large_Maricopa_AZ_precinct_centroids.csv',
}

/** Coordinates of real polling places or precincts, each once. */
function realPlaces(file: string): [number, number][] {
  const text = readFileSync(path.join(import.meta.dirname, '../../reference/places', file), 'utf8')
  const [head, ...lines] = text.trim().split(/\r?\n/)
  const columns = head!.split(',').length
  const at = head!.split(',').indexOf('lat')
  const seen = new Map<string, [number, number]>()
  for (const line of lines) {
    // Counted from the end: quoted names before may hold commas.
    const cells = line.split(',')
    const [lat, lon] = [at, at + 1].map((i) => Number(cells[cells.length - columns + i]))
    seen.set(`${lat},${lon}`, [lat!, lon!])
  }
  return [...seen.values()]
}

/** @throws Error for a name that is neither a file's nor PLACES/PEOPLE or PLACES/PEOPLE/PERCENT. */
export function instanceOf(name: string, seed: number): RosterInstance {
  const coordinates = FILES[name] ? realPlaces(FILES[name]) : undefined
  const [places, people, percent = 0] = coordinates
    ? [coordinates.length, 10 * coordinates.length]
    : (name.split('/').map(Number) as [number, number, number?])
  if (!(places > 0 && people! > 0 && percent >= 0 && percent <= 100))
    throw new Error(`not PLACES/PEOPLE or PLACES/PEOPLE/PERCENT: ${name}`)
  // Large counties limit travel, as real ones do; it keeps the arcs few.
  const maxTravelKm = places >= 700 ? 12 : places >= 200 ? 25 : null
  const halfShare = percent / 100
  return county({
    places,
    people: people!,
    seed,
    maxTravelKm,
    halfShare,
    ...(coordinates ? { coordinates } : {}),
  })
}
