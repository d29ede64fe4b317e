import type { VipFile, VipNode, VipObject } from '../read-vip'
import type { OpeningHours, PlacesTold, PlaceTold, PrecinctTold } from './places'
import type { Problem } from './row-reader'

/** What a VIP feed says of places and precincts. Rows are lines of the feed. */

export interface VipCounts {
  places: number
  earlySites: number
  voteCentres: number
  dropBoxes: number
  precincts: number
  mailOnlyPrecincts: number
  localities: number
  states: number
  hours: number
  streetSegments: number
}

export interface VipLocality {
  id: string
  name: string
  precincts: number
}

export interface VipTold extends PlacesTold {
  counts: VipCounts
  /** Localities with precincts, for the county to choose its own. */
  localities: VipLocality[]
  electionOn: string
}

const one = (node: VipNode, name: string): string | null => {
  const value = node[name]?.[0]
  return typeof value === 'string' && value !== '' ? value.replace(/\s+/g, ' ') : null
}
const child = (node: VipNode, name: string): VipNode | null => {
  const value = node[name]?.[0]
  return typeof value === 'object' ? value : null
}
const children = (node: VipNode, name: string): VipNode[] =>
  (node[name] ?? []).filter((value): value is VipNode => typeof value === 'object')
const truth = (node: VipNode, name: string) => ['true', '1'].includes(one(node, name) ?? '')
const ids = (node: VipNode, name: string) => one(node, name)?.split(' ') ?? []

function addressOf(node: VipNode): string {
  const parts = child(node, 'AddressStructured')
  if (!parts) return (node.AddressLine ?? []).filter((l) => typeof l === 'string' && l !== '').join(', ')
  const end = [one(parts, 'State'), one(parts, 'Zip')].filter(Boolean).join(' ')
  return ['Line1', 'Line2', 'Line3', 'City']
    .map((name) => one(parts, name))
    .concat(end)
    .filter(Boolean)
    .join(', ')
}

/** Hours as wall-clock times of the place: the feed's offset from UTC is that of the place on that day. */
function hoursOf(object: VipObject | undefined): OpeningHours[] {
  if (!object) return []
  return children(object.node, 'Schedule').flatMap((schedule) =>
    children(schedule, 'Hours').map((hours) => ({
      firstOn: one(schedule, 'StartDate')?.slice(0, 10) ?? null,
      lastOn: one(schedule, 'EndDate')?.slice(0, 10) ?? null,
      opensAt: (one(hours, 'StartTime') ?? '').slice(0, 5),
      closesAt: (one(hours, 'EndTime') ?? '').slice(0, 5),
    })),
  )
}

/** Places and precincts of a feed, of one locality or of all (null). A location that is only a drop box needs nobody
 *  and is counted, not brought in; one for early voting is an early-voting site; one that a locality or the state
 *  names directly serves everybody there and is a vote centre. */
export function readVipPlaces(vip: VipFile, localityId: string | null): VipTold {
  const of = (type: string) => vip.objects.filter((object) => object.type === type)
  const problems: Problem[] = vip.problems.map((p) => ({
    row: p.line,
    column: p.path,
    value: p.value,
    message: p.message,
    severity: 'error',
  }))
  if (vip.more > 0)
    problems.push({
      row: 1,
      column: null,
      value: '',
      message: `${vip.more} more problems of the same kinds are not listed.`,
      severity: 'error',
    })
  const precinctObjects = of('Precinct').filter(
    (p) => localityId === null || one(p.node, 'LocalityId') === localityId,
  )
  const localityObjects = of('Locality')
  const everybody = new Set(
    [...localityObjects.filter((l) => localityId === null || l.id === localityId), ...of('State')].flatMap(
      (l) => ids(l.node, 'PollingLocationIds'),
    ),
  )
  const wanted = new Set([...everybody, ...precinctObjects.flatMap((p) => ids(p.node, 'PollingLocationIds'))])
  const hours = new Map(of('HoursOpen').map((object) => [object.id, object]))
  const locations = of('PollingLocation').filter((l) => localityId === null || wanted.has(l.id))
  const isBox = (l: VipObject) => truth(l.node, 'IsDropBox') && !truth(l.node, 'IsEarlyVoting')
  const places = locations
    .filter((l) => !isBox(l))
    .map((l) => placeOf(l, everybody.has(l.id), hours, problems))
  const kinds = new Map(places.map((place) => [place.code, place.kind]))
  const precincts = precinctsOf(precinctObjects, kinds, problems)
  const perLocality = new Map<string, number>()
  for (const p of of('Precinct')) {
    const id = one(p.node, 'LocalityId') ?? ''
    perLocality.set(id, (perLocality.get(id) ?? 0) + 1)
  }
  return {
    places,
    precincts,
    problems,
    columns: {
      lat: 'PollingLocation/LatLng',
      precinct: 'Precinct/PollingLocationIds',
      registeredVoters: 'Precinct',
    },
    electionOn: (of('Election')[0] ? one(of('Election')[0]!.node, 'Date') : null)?.slice(0, 10) ?? '',
    localities: localityObjects
      .filter((l) => perLocality.has(l.id))
      .map((l) => ({ id: l.id, name: one(l.node, 'Name') ?? l.id, precincts: perLocality.get(l.id)! })),
    counts: {
      places: places.length,
      earlySites: places.filter((p) => p.kind === 'earlyVotingSite').length,
      voteCentres: places.filter((p) => p.kind === 'voteCentre').length,
      dropBoxes: locations.length - places.length,
      precincts: precincts.length,
      mailOnlyPrecincts: precinctObjects.filter((p) => truth(p.node, 'IsMailOnly')).length,
      localities: localityObjects.length,
      states: of('State').length,
      hours: hours.size,
      streetSegments: vip.counts.StreetSegment ?? 0,
    },
  }
}

function placeOf(
  location: VipObject,
  forEverybody: boolean,
  hours: ReadonlyMap<string, VipObject>,
  problems: Problem[],
): PlaceTold {
  const { node, id, line } = location
  const latLng = child(node, 'LatLng')
  const [lat, lon] = ['Latitude', 'Longitude'].map((name) =>
    Number((latLng && one(latLng, name)) ?? Number.NaN),
  ) as [number, number]
  const known = Math.abs(lat) <= 90 && Math.abs(lon) <= 180 && !(lat === 0 && lon === 0)
  // What is no number has been told where it was read.
  if (latLng && !known && Number.isFinite(lat) && Number.isFinite(lon))
    problems.push({
      row: line,
      column: 'PollingLocation/LatLng',
      value: `${lat}, ${lon}`,
      message: `The coordinates of ${id} lie nowhere on the earth, or at 0, 0. Correct them, or leave LatLng out.`,
      severity: 'error',
    })
  const address = addressOf(node)
  const name = one(node, 'Name')
  if (name === null)
    problems.push({
      row: line,
      column: 'PollingLocation/Name',
      value: id,
      message: `${id} has no name; its address stands for it until you name it.`,
      severity: 'warning',
    })
  return {
    row: line,
    code: id,
    name: (name ?? address).slice(0, 200),
    address: address.slice(0, 300),
    point: known ? { lat, lon } : null,
    kind: truth(node, 'IsEarlyVoting') ? 'earlyVotingSite' : forEverybody ? 'voteCentre' : 'pollingPlace',
    equipmentProfile: null,
    hours: hoursOf(hours.get(one(node, 'HoursOpenId') ?? '')),
  }
}

/** Precincts by their number where it is theirs alone, else by their id; each with its place for election day. */
function precinctsOf(
  objects: readonly VipObject[],
  kinds: ReadonlyMap<string, string | null>,
  problems: Problem[],
): PrecinctTold[] {
  const numbers = new Map<string, number>()
  for (const { node } of objects) {
    const number = one(node, 'Number')
    if (number) numbers.set(number, (numbers.get(number) ?? 0) + 1)
  }
  return objects.map(({ id, node, line }): PrecinctTold => {
    const number = one(node, 'Number')
    const own = ids(node, 'PollingLocationIds').filter((place) => kinds.get(place) === 'pollingPlace')
    const code = number !== null && numbers.get(number) === 1 ? number : id
    if (own.length > 1)
      problems.push({
        row: line,
        column: 'Precinct/PollingLocationIds',
        value: own.join(' '),
        message: `Precinct ${code} names ${own.length} polling places for election day; the first, ${own[0]}, is taken.`,
        severity: 'warning',
      })
    return {
      row: line,
      code,
      name: [one(node, 'Name'), one(node, 'PrecinctSplitName')].filter(Boolean).join(', ') || null,
      registeredVoters: null,
      placeCode: own[0] ?? null,
    }
  })
}
