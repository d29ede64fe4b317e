import { geoMercator } from 'd3-geo'
import { toKm } from '@/lib/kernel/miles'
import { distanceKm } from '@/lib/places/core/distance'
import type { Area, BoardPlace } from '@/lib/roster/queries'
import { count } from '../../../../parts/words'
import { MapKeys } from './map-keys'

const WIDTH = 640
const HEIGHT = 430
const MARGIN = 26
/** Lengths that a scale bar may have, in miles. */
const NICE_MILES = [1, 2, 5, 10, 20, 50, 100]
/** More places than this are gathered into parts of the map; choosing a part shows it larger. */
const MOST_PLACES = 350
const CELL = 40

export type PlaceState = 'full' | 'short' | 'none'
export const placeState = (p: { filled: number; seats: number }): PlaceState =>
  p.filled === p.seats ? 'full' : p.filled === 0 ? 'none' : 'short'

/** A place's state as a shape: a disc is full, a diamond has some seats empty, a broken ring has all empty. */
export const PlaceShape = ({ state, x, y, r }: { state: PlaceState; x: number; y: number; r: number }) =>
  state === 'short' ? (
    <path
      d={`M${x} ${y - r - 2}l${r + 2} ${r + 2}l${-r - 2} ${r + 2}l${-r - 2} ${-r - 2}z`}
      className="short"
    />
  ) : (
    <circle cx={x} cy={y} r={r} className={state} />
  )

/** The places of a county as a drawing of its own (Mercator, fitted to what is shown; no tiles from elsewhere). Each
 *  place is a link that filters the table; what the filter leaves out is drawn faint. With JavaScript the arrow keys go
 *  from place to place, and a place and its row light up together; without, the same links stand in the table. */
export function PlaceMap({
  places,
  chosenId,
  area,
  hrefOf,
  areaHref,
}: {
  places: BoardPlace[]
  chosenId: string | undefined
  area: Area | null
  hrefOf: (place: BoardPlace) => string
  areaHref: (area: Area) => string
}) {
  const inside = area
    ? places.filter((p) => p.lon >= area[0] && p.lat >= area[1] && p.lon <= area[2] && p.lat <= area[3])
    : places
  const shown = inside.length > 0 ? inside : places
  const projection = geoMercator().fitExtent(
    [
      [MARGIN, MARGIN],
      [WIDTH - MARGIN, HEIGHT - MARGIN - 14],
    ],
    { type: 'MultiPoint', coordinates: corners(shown) },
  )
  const at = (lon: number, lat: number) => (projection([lon, lat]) ?? [WIDTH / 2, HEIGHT / 2]).map(tenth)
  const points = shown.map((place) => {
    const [x, y] = at(place.lon, place.lat)
    return { place, x: x!, y: y! }
  })
  const scale = scaleBar(
    projection.invert?.([WIDTH / 2, HEIGHT]) ?? null,
    at as (a: number, b: number) => [number, number],
  )
  const many = shown.length > MOST_PLACES
  return (
    <MapKeys>
      {/* biome-ignore lint/a11y/useSemanticElements: a fieldset is for forms */}
      <svg
        className="map"
        viewBox={`0 0 ${WIDTH} ${HEIGHT}`}
        role="group"
        aria-label={many ? 'Map of the county in parts' : 'Map of the places'}
      >
        {many
          ? cellsOf(points).map((cell) => (
              <Cell key={`${cell.x}|${cell.y}`} cell={cell} href={areaHref(cell.area)} />
            ))
          : points.map(({ place, x, y }, i) => (
              <a
                key={place.id}
                href={hrefOf(place)}
                data-place={place.id}
                data-x={x}
                data-y={y}
                className={place.matches ? undefined : 'faint'}
                tabIndex={place.id === chosenId || (i === 0 && !chosenId) ? 0 : -1}
                aria-label={placeWords(place)}
                aria-current={place.id === chosenId ? 'true' : undefined}
              >
                <title>{placeWords(place)}</title>
                <circle cx={x} cy={y} r="12" className="reach" />
                {place.id === chosenId && <circle cx={x} cy={y} r="15" className="chosen" />}
                <PlaceShape state={placeState(place)} x={x} y={y} r={shown.length > 120 ? 4.5 : 8} />
              </a>
            ))}
        {scale && (
          <g>
            <path d={`M${MARGIN} ${HEIGHT - 12}v-6v3h${scale.pixels}v-3v6`} fill="none" className="scale" />
            <text x={MARGIN + scale.pixels + 8} y={HEIGHT - 10}>
              {scale.miles} mi
            </text>
            <text x={WIDTH - MARGIN} y={HEIGHT - 10} textAnchor="end">
              north is up
            </text>
          </g>
        )}
      </svg>
    </MapKeys>
  )
}

export const placeWords = (p: BoardPlace) => `${p.code} ${p.name}: ${p.filled} of ${p.seats} seats filled`
const tenth = (n: number) => Math.round(n * 10) / 10

/** The four corners of the places, a little apart where they are all one point. */
export function corners(places: readonly { lat: number; lon: number }[]): [number, number][] {
  let [west, south, east, north] = [180, 90, -180, -90]
  for (const { lat, lon } of places) {
    west = Math.min(west, lon)
    east = Math.max(east, lon)
    south = Math.min(south, lat)
    north = Math.max(north, lat)
  }
  const pad = Math.max(0, 0.004 - (east - west), 0.004 - (north - south)) / 2
  return [
    [west - pad, south - pad],
    [east + pad, north + pad],
  ]
}

interface CellOf {
  x: number
  y: number
  places: number
  seats: number
  filled: number
  area: Area
}

/** Neighbouring places gathered on a grid of the drawing. */
function cellsOf(points: { place: BoardPlace; x: number; y: number }[]): CellOf[] {
  const cells = new Map<string, { place: BoardPlace; x: number; y: number }[]>()
  for (const point of points) {
    if (!point.place.matches) continue
    const key = `${Math.floor(point.x / CELL)}|${Math.floor(point.y / CELL)}`
    const own = cells.get(key)
    if (own) own.push(point)
    else cells.set(key, [point])
  }
  return [...cells.entries()].map(([key, own]) => {
    const [column, row] = key.split('|').map(Number)
    const [[west, south], [east, north]] = corners(own.map((p) => p.place)) as [
      [number, number],
      [number, number],
    ]
    const round = (n: number, up: boolean) => (up ? Math.ceil(n * 1e5) : Math.floor(n * 1e5)) / 1e5
    return {
      x: (column! + 0.5) * CELL,
      y: (row! + 0.5) * CELL,
      places: own.length,
      seats: own.reduce((sum, p) => sum + p.place.seats, 0),
      filled: own.reduce((sum, p) => sum + p.place.filled, 0),
      area: [round(west, false), round(south, false), round(east, true), round(north, true)],
    }
  })
}

const Cell = ({ cell, href }: { cell: CellOf; href: string }) => {
  const words = `${count(cell.places, 'place')}, ${cell.filled} of ${cell.seats} seats filled: show this part`
  const side = Math.min(CELL - 4, 14 + 5 * Math.log2(cell.places))
  return (
    <a href={href} data-x={cell.x} data-y={cell.y} aria-label={words}>
      <title>{words}</title>
      <rect
        x={cell.x - side / 2}
        y={cell.y - side / 2}
        width={side}
        height={side}
        rx="5"
        className={`cell ${placeState(cell)}`}
      />
      <text x={cell.x} y={cell.y + 5} textAnchor="middle" className="cell-count">
        {cell.places}
      </text>
    </a>
  )
}

/** A bar of a round length that is no longer than a quarter of the drawing. */
export function scaleBar(
  middle: [number, number] | null,
  at: (lon: number, lat: number) => [number, number],
) {
  if (!middle) return null
  const [lon, lat] = middle
  const kmPerDegree = distanceKm([lat, lon], [lat, lon + 0.1]) * 10
  const pixelsPerDegree = (at(lon + 0.1, lat)[0] - at(lon, lat)[0]) * 10
  if (!(pixelsPerDegree > 0)) return null
  const pixels = (miles: number) => (toKm(miles) / kmPerDegree) * pixelsPerDegree
  const miles = NICE_MILES.findLast((length) => pixels(length) <= WIDTH / 4)
  return miles === undefined ? null : { miles, pixels: Math.round(pixels(miles)) }
}
