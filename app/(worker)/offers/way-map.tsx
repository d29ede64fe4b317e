import { geoMercator } from 'd3-geo'
import { toKm } from '@/lib/kernel/miles'
import { distanceKm, type LatLon } from '@/lib/places/core/distance'

const WIDTH = 320
const HEIGHT = 200
const MARGIN = 24
const NICE_MILES = [0.5, 1, 2, 5, 10, 20, 50]
/** Other places that are shown around this one, for a sense of where it is. */
const AROUND = 10

/** Where a place is, drawn by ourselves (Mercator, no tiles from elsewhere): a large mark among the nearest other
 *  places. The address beside it says the same in words, so the drawing is left out for screen readers. */
export function WayMap({ at, others, label }: { at: LatLon; others: LatLon[]; label: string }) {
  const near = [...others].sort((a, b) => distanceKm(at, a) - distanceKm(at, b)).slice(0, AROUND)
  const points = [at, ...near].map(([lat, lon]) => [lon, lat])
  const box = [
    [MARGIN, MARGIN],
    [WIDTH - MARGIN, HEIGHT - MARGIN - 14],
  ] as [[number, number], [number, number]]
  const projection = geoMercator().fitExtent(box, {
    type: 'MultiPoint',
    // A single point has no extent: a box of about two miles around it does.
    coordinates:
      near.length > 0
        ? points
        : [
            [at[1] - 0.02, at[0] - 0.02],
            [at[1] + 0.02, at[0] + 0.02],
          ],
  })
  const xy = ([lat, lon]: LatLon) => projection([lon, lat]) ?? [WIDTH / 2, HEIGHT / 2]
  const [x, y] = xy(at) as [number, number]
  const kmPerPixel = distanceKm(at, [at[0], at[1] + 0.05]) / Math.max(1e-9, xy([at[0], at[1] + 0.05])[0]! - x)
  const miles = NICE_MILES.findLast((m) => toKm(m) / kmPerPixel <= WIDTH / 3)
  const pixels = miles === undefined ? 0 : Math.round(toKm(miles) / kmPerPixel)
  return (
    <svg className="way-map" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} aria-hidden="true" focusable="false">
      {near.map((other) => {
        const [ox, oy] = xy(other)
        return <circle key={`${other[0]} ${other[1]}`} cx={ox} cy={oy} r="4" className="other" />
      })}
      <path d={`M${x} ${y}l-9 -16a10 10 0 1 1 18 0z`} className="here" />
      <circle cx={x} cy={y - 21} r="4" className="hole" />
      <text
        x={Math.min(WIDTH - 70, Math.max(70, x))}
        y={y + 18 > HEIGHT - 24 ? y - 38 : y + 18}
        textAnchor="middle"
      >
        {label}
      </text>
      {miles !== undefined && (
        <>
          <path d={`M${MARGIN} ${HEIGHT - 10}v-5v2.5h${pixels}v-2.5v5`} className="scale" />
          <text x={MARGIN + pixels + 6} y={HEIGHT - 8} className="small">
            {miles} mi
          </text>
        </>
      )}
      <text x={WIDTH - MARGIN + 12} y={HEIGHT - 8} textAnchor="end" className="small">
        N ↑
      </text>
    </svg>
  )
}
