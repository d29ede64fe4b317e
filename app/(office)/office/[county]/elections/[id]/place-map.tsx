import { geoMercator } from 'd3-geo'
import type { Area } from '@/lib/places/core/area'
import type { BoardPlace } from '@/lib/roster/queries'
import {
  corners,
  HEIGHT,
  MARGIN,
  MOST_POINTS,
  type Part,
  PartMark,
  partsOf,
  scaleBar,
  WIDTH,
} from '../../../../parts/map-ground'
import { count } from '../../../../parts/words'
import { MapKeys } from './map-keys'

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
    return { place, lat: place.lat, lon: place.lon, x: x!, y: y! }
  })
  const scale = scaleBar(
    projection.invert?.([WIDTH / 2, HEIGHT]) ?? null,
    at as (a: number, b: number) => [number, number],
  )
  const many = shown.length > MOST_POINTS
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
          ? partsOf(points.filter(({ place }) => place.matches)).map((part) => (
              <Cell key={`${part.x}|${part.y}`} part={part} href={areaHref(part.area)} />
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

const Cell = ({ part, href }: { part: Part<{ place: BoardPlace }>; href: string }) => {
  const sum = (of: (p: BoardPlace) => number) => part.own.reduce((total, { place }) => total + of(place), 0)
  const [seats, filled] = [sum((p) => p.seats), sum((p) => p.filled)]
  const words = `${count(part.own.length, 'place')}, ${filled} of ${seats} seats filled: show this part`
  return (
    <a href={href} data-x={part.x} data-y={part.y} aria-label={words}>
      <title>{words}</title>
      <PartMark part={part} className={placeState({ seats, filled })} />
    </a>
  )
}
