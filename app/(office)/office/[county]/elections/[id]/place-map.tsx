import { geoMercator } from 'd3-geo'
import { toKm } from '@/lib/kernel/miles'
import { distanceKm } from '@/lib/places/core/distance'
import type { BoardPlace } from '@/lib/roster/queries'

const WIDTH = 640
const HEIGHT = 430
const MARGIN = 26
/** Lengths that a scale bar may have, in kilometres. */
const NICE_MILES = [1, 2, 5, 10, 20, 50, 100]

/** The county's places as a drawing of its own (Mercator, fitted to the places; no tiles from elsewhere). Shapes tell
 *  the states apart: a disc is full, a diamond has some seats empty, a broken ring has all empty. The same places stand
 *  in the list below, which is the way by keyboard and screen reader; so the drawing itself is left out for them. */
export function PlaceMap({
  places,
  chosenId,
  hrefOf,
}: {
  places: BoardPlace[]
  chosenId: string | undefined
  hrefOf: (place: BoardPlace) => string
}) {
  const projection = geoMercator().fitExtent(
    [
      [MARGIN, MARGIN],
      [WIDTH - MARGIN, HEIGHT - MARGIN - 14],
    ],
    { type: 'MultiPoint', coordinates: places.map((p) => [p.lon, p.lat]) },
  )
  const radius = places.length > 1500 ? 2.5 : places.length > 200 ? 4.5 : 8
  const at = (lon: number, lat: number) => projection([lon, lat]) ?? [WIDTH / 2, HEIGHT / 2]
  const scale = scaleBar(projection.invert?.([WIDTH / 2, HEIGHT]) ?? null, at)
  return (
    <svg className="map" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} aria-hidden="true" focusable="false">
      {places.map((place) => {
        const [x, y] = at(place.lon, place.lat)
        const state = place.filled === place.seats ? 'full' : place.filled === 0 ? 'none' : 'short'
        const r = radius
        return (
          <a key={place.id} href={hrefOf(place)} tabIndex={-1}>
            <title>{`${place.code} ${place.name}: ${place.filled} of ${place.seats} filled`}</title>
            {place.id === chosenId && <circle cx={x} cy={y} r={r + 7} className="chosen" />}
            {state === 'full' && <circle cx={x} cy={y} r={r} className="full" />}
            {state === 'short' && (
              <path
                d={`M${x} ${y - r - 2}l${r + 2} ${r + 2}l${-r - 2} ${r + 2}l${-r - 2} ${-r - 2}z`}
                className="short"
              />
            )}
            {state === 'none' && <circle cx={x} cy={y} r={r} className="none" />}
          </a>
        )
      })}
      {scale && (
        <g>
          <path d={`M${MARGIN} ${HEIGHT - 12}v-6v3h${scale.pixels}v-3v6`} fill="none" className="scale" />
          <text x={MARGIN + scale.pixels + 8} y={HEIGHT - 10}>
            {scale.miles} mi
          </text>
        </g>
      )}
      <text x={WIDTH - MARGIN} y={HEIGHT - 10} textAnchor="end">
        north is up
      </text>
    </svg>
  )
}

/** A bar of a round length that is no longer than a quarter of the drawing. */
function scaleBar(middle: [number, number] | null, at: (lon: number, lat: number) => [number, number]) {
  if (!middle) return null
  const [lon, lat] = middle
  const kmPerDegree = distanceKm([lat, lon], [lat, lon + 0.1]) * 10
  const pixelsPerDegree = (at(lon + 0.1, lat)[0] - at(lon, lat)[0]) * 10
  if (!(pixelsPerDegree > 0)) return null
  const pixels = (miles: number) => (toKm(miles) / kmPerDegree) * pixelsPerDegree
  const miles = NICE_MILES.findLast((length) => pixels(length) <= WIDTH / 4)
  return miles === undefined ? null : { miles, pixels: Math.round(pixels(miles)) }
}
