import { areaIn } from '@/lib/places/core/area'
import type { PlaceFilter } from '@/lib/places/queries'
import { PLACE_KINDS } from './words'

export const LACKS: [string, string][] = [
  ['', 'anything or nothing'],
  ['hours', 'hours on election day'],
  ['precincts', 'precincts'],
  ['survey', 'an access survey'],
  ['location', 'a point on the map'],
  ['contact', 'somebody to call'],
]

/** What the list of places is narrowed by, as the address says it; what makes no sense there is left out. */
export const placeFilterIn = (search: { name?: string; kind?: string; lacks?: string; area?: string }) => ({
  name: search.name?.trim() || undefined,
  kind: search.kind && search.kind in PLACE_KINDS ? (search.kind as PlaceFilter['kind']) : undefined,
  lacks: LACKS.some(([key]) => key !== '' && key === search.lacks)
    ? (search.lacks as PlaceFilter['lacks'])
    : undefined,
  area: areaIn(search.area) ?? undefined,
})
