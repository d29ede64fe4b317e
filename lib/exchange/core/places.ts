import { milesText } from '@/lib/kernel/miles'
import { distanceKm } from '@/lib/places/core/distance'
import type { Table } from '../table'
import { FIELDS, type Mapping } from './fields'
import { type Action, type Problem, type RowReader, readRows } from './row-reader'

/** Places and the precincts that they serve, from a table or a feed, held against what the county has. Pure. */

export type PlaceKind = 'pollingPlace' | 'voteCentre' | 'earlyVotingSite'

export interface OpeningHours {
  firstOn: string | null
  lastOn: string | null
  opensAt: string
  closesAt: string
}

/** A place as a file tells it; null where it says nothing. */
export interface PlaceTold {
  row: number
  code: string
  name: string
  address: string
  point: { lat: number; lon: number } | null
  kind: PlaceKind | null
  equipmentProfile: string | null
  /** Absent: the format doesn't tell. */
  hours?: OpeningHours[]
}

export interface PrecinctTold {
  row: number
  code: string
  name: string | null
  registeredVoters: number | null
  placeCode: string | null
}

export interface PlacesTold {
  places: PlaceTold[]
  precincts: PrecinctTold[]
  problems: Problem[]
  /** What the file calls its fields. */
  columns: Mapping
}

export interface KnownPlace {
  id: string
  code: string
  name: string
  address: string
  lat: number
  lon: number
  located: boolean
  kind: PlaceKind
  equipmentProfile: string
  hours: OpeningHours[]
}

export interface KnownPrecinct {
  id: string
  code: string
  name: string
  registeredVoters: number
  placeCode: string | null
}

export interface PlacesGround {
  places: readonly KnownPlace[]
  precincts: readonly KnownPrecinct[]
  /** Keys of the equipment profiles; null: not known here. */
  profiles: readonly string[] | null
  defaultProfile: string
}

export interface Planned<V> {
  row: number
  action: Action
  id: string | null
  fields: string[]
  values: V
}
export type PlaceValues = Omit<KnownPlace, 'id' | 'hours'> & { hours: OpeningHours[] | null }
export type PrecinctValues = Omit<KnownPrecinct, 'id'>

export interface PlacesPlan {
  places: Planned<PlaceValues>[]
  precincts: Planned<PrecinctValues>[]
  problems: Problem[]
}

/** Farther from the middle of the file's places than this, a coordinate is probably wrong. The largest counties are
 *  wider; it only warns. */
const FAR_KM = 150

const KINDS: Record<string, PlaceKind> = {
  pollingplace: 'pollingPlace',
  precinct: 'pollingPlace',
  electionday: 'pollingPlace',
  polls: 'pollingPlace',
  votecentre: 'voteCentre',
  votecenter: 'voteCentre',
  center: 'voteCentre',
  centre: 'voteCentre',
  earlyvotingsite: 'earlyVotingSite',
  earlyvoting: 'earlyVotingSite',
  earlyvote: 'earlyVotingSite',
  early: 'earlyVotingSite',
}

function readKind(cells: RowReader): PlaceKind | null {
  const text = cells.text('kind')
  if (text === null) return null
  return (
    KINDS[text.toLowerCase().replace(/[^a-z]/g, '')] ??
    cells.error('kind', 'Write polling place, vote center or early voting.')
  )
}

/** Places from a table: a row a place, or a row for each precinct with its place's columns repeated. */
export function readPlaces(table: Table, mapping: Mapping): PlacesTold {
  const problems: Problem[] = []
  const places = new Map<string, PlaceTold>()
  const precincts = new Map<string, PrecinctTold>()
  for (const cells of readRows('places', table, mapping, problems)) {
    const code = cells.needed('code', 'the place’s code', 60)
    const name = cells.needed('name', 'the place’s name')
    const address =
      cells.address() ?? (cells.raw('address') === '' ? cells.needed('address', 'an address') : null)
    const told = {
      point: cells.point(),
      kind: readKind(cells),
      equipmentProfile: cells.text('equipmentProfile', 60),
    }
    const precinct = readPrecinct(cells, code)
    if (cells.failed || code === null || name === null || address === null) continue
    const place: PlaceTold = { row: cells.row, code, name, address, ...told }
    const before = places.get(code)
    if (before) {
      if (!cells.has('precinct'))
        cells.error('code', `Row ${before.row} has the same code. Keep one of the rows, or correct the code.`)
      else checkSamePlace(cells, before, place)
    } else places.set(code, place)
    for (const one of precinct) addPrecinct(cells, precincts, one)
  }
  return { places: [...places.values()], precincts: [...precincts.values()], problems, columns: mapping }
}

function checkSamePlace(cells: RowReader, before: PlaceTold, now: PlaceTold): void {
  for (const key of ['name', 'address', 'kind', 'point'] as const)
    if (JSON.stringify(before[key]) !== JSON.stringify(now[key]))
      cells.error(
        key === 'point' ? 'lat' : key,
        `Row ${before.row} says otherwise of the place ${now.code}. Make the rows of one place agree.`,
      )
}

/** The precincts of a row: one, or several codes with “;” or “,” between. Without such a column a place that has
 *  registered voters is its own precinct. */
function readPrecinct(cells: RowReader, placeCode: string | null): PrecinctTold[] {
  const voters = cells.number('registeredVoters', { from: 0, to: 2_000_000, whole: true, example: '1250' })
  const text = cells.text('precinct', 2000) ?? (voters !== null && !cells.has('precinct') ? placeCode : null)
  const codes = (text ?? '')
    .split(/[;,|]/)
    .map((c) => c.trim())
    .filter(Boolean)
  const name = cells.text('precinctName')
  if (codes.length > 1 && voters !== null)
    cells.note(
      'warning',
      'registeredVoters',
      `The number is the place’s; it is kept with its first precinct, ${codes[0]}. Give a row to each precinct to tell them apart.`,
    )
  return codes.map((code, i) => ({
    row: cells.row,
    code,
    name: codes.length === 1 ? name : null,
    registeredVoters: i === 0 ? voters : voters === null ? null : 0,
    placeCode,
  }))
}

function addPrecinct(cells: RowReader, precincts: Map<string, PrecinctTold>, one: PrecinctTold): void {
  const before = precincts.get(one.code)
  if (before)
    cells.error(
      'precinct',
      `Row ${before.row} has the precinct ${one.code}, too. A precinct belongs to one place; correct one of the rows.`,
    )
  else precincts.set(one.code, one)
}

const kmBetween = (a: { lat: number; lon: number }, b: { lat: number; lon: number }) =>
  distanceKm([a.lat, a.lon], [b.lat, b.lon])

const labelOf = (key: string) => FIELDS.places.find((field) => field.key === key)?.label ?? null

/** The middle value of the latitudes and of the longitudes: a few wrong points don't move it. */
function middleOf(points: readonly { lat: number; lon: number }[]): { lat: number; lon: number } | null {
  if (points.length === 0) return null
  const median = (values: number[]) => values.sort((a, b) => a - b)[Math.floor(values.length / 2)]!
  return { lat: median(points.map((p) => p.lat)), lon: median(points.map((p) => p.lon)) }
}

/** The dry run of places: new, changed (in which fields) or the same, by the county's codes. A place without
 *  coordinates stands in the middle of those that have some until somebody sets them, and is reported; where nothing
 *  has coordinates it is an error. O(places + precincts). */
export function planPlaces(told: PlacesTold, ground: PlacesGround): PlacesPlan {
  const problems = [...told.problems]
  const note = (severity: Problem['severity'], row: number, field: string, value: string, message: string) =>
    problems.push({ row, column: told.columns[field] ?? labelOf(field), value, message, severity })
  const knownPlaces = new Map(ground.places.map((place) => [place.code, place]))
  const knownPrecincts = new Map(ground.precincts.map((precinct) => [precinct.code, precinct]))
  const own = middleOf(told.places.flatMap((place) => (place.point ? [place.point] : [])))
  const countys = middleOf(ground.places.filter((place) => place.located))
  const middle = own ?? countys
  if (own && countys && kmBetween(own, countys) > FAR_KM)
    note(
      'warning',
      told.places[0]!.row,
      'lat',
      '',
      `The places of this file lie ${milesText(kmBetween(own, countys))} from those that the county has. Is it the right file?`,
    )
  const places = told.places.map((place): Planned<PlaceValues> => {
    const known = knownPlaces.get(place.code)
    const profile = place.equipmentProfile ?? known?.equipmentProfile ?? ground.defaultProfile
    if (ground.profiles && !ground.profiles.includes(profile))
      note(
        'error',
        place.row,
        'equipmentProfile',
        profile,
        `There is no such equipment profile. Profiles: ${ground.profiles.join(', ')}.`,
      )
    if (place.point && middle && kmBetween(place.point, middle) > FAR_KM)
      note(
        'warning',
        place.row,
        'lat',
        `${place.point.lat}, ${place.point.lon}`,
        `The place ${place.code} lies ${milesText(kmBetween(place.point, middle))} from the middle of the others. Check its latitude and longitude.`,
      )
    if (!place.point && !known)
      note(
        middle ? 'warning' : 'error',
        place.row,
        'lat',
        '',
        middle
          ? `The place ${place.code} has no coordinates. It stands in the middle of the others until you set them, and distances to it are not real.`
          : 'No place has coordinates. Give latitude and longitude for at least one, so that the others can stand near it.',
      )
    const at = place.point ?? known ?? middle ?? { lat: 0, lon: 0 }
    const values: PlaceValues = {
      code: place.code,
      name: place.name,
      address: place.address,
      lat: at.lat,
      lon: at.lon,
      located: place.point !== null || (known?.located ?? false),
      kind: place.kind ?? known?.kind ?? 'pollingPlace',
      equipmentProfile: profile,
      hours: place.hours ?? null,
    }
    return planned(place.row, known, values)
  })
  const codes = new Set([...knownPlaces.keys(), ...told.places.map((place) => place.code)])
  const precincts = told.precincts.map((precinct): Planned<PrecinctValues> => {
    const known = knownPrecincts.get(precinct.code)
    if (precinct.placeCode !== null && !codes.has(precinct.placeCode))
      note(
        'error',
        precinct.row,
        'precinct',
        precinct.code,
        `Its place ${precinct.placeCode} is neither in the file nor in the county.`,
      )
    return planned(precinct.row, known, {
      code: precinct.code,
      name: precinct.name ?? known?.name ?? `Precinct ${precinct.code}`,
      registeredVoters: precinct.registeredVoters ?? known?.registeredVoters ?? 0,
      placeCode: precinct.placeCode ?? known?.placeCode ?? null,
    })
  })
  const without = precincts.filter((p) => p.action === 'create' && p.values.registeredVoters === 0)
  if (without.length > 0)
    note(
      'warning',
      without[0]!.row,
      'registeredVoters',
      '',
      `${without.length} new ${without.length === 1 ? 'precinct has' : 'precincts have'} no number of registered voters. Crews are counted by it: bring the numbers in, too.`,
    )
  problems.sort((a, b) => a.row - b.row)
  return { places, precincts, problems }
}

function planned<V extends object>(
  row: number,
  known: ({ id: string } & { [K in keyof V]?: unknown }) | undefined,
  values: V,
): Planned<V> {
  if (!known) return { row, action: 'create', id: null, fields: Object.keys(values), values }
  const fields = Object.keys(values).filter((key) => {
    const value = values[key as keyof V]
    return value !== null && JSON.stringify(value) !== JSON.stringify(known[key as keyof V])
  })
  return { row, action: fields.length === 0 ? 'same' : 'change', id: known.id, fields, values }
}
