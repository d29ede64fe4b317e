import { geoMercator } from 'd3-geo'
import type { Area } from '@/lib/places/core/area'
import { HEIGHT, MARGIN, MOST_POINTS, PartMark, partsOf, scaleBar, WIDTH } from './map-ground'

export interface MapPoint {
  id: string
  lat: number
  lon: number
  title: string
  /** place: a disc. centre: a square. early: a diamond. precinct: a small cross. */
  shape: 'place' | 'centre' | 'early' | 'precinct'
  href?: string
  chosen?: boolean
}

const SHAPES = {
  place: (x: number, y: number, r: number) => <circle cx={x} cy={y} r={r} className="full" />,
  centre: (x: number, y: number, r: number) => (
    <rect x={x - r} y={y - r} width={2 * r} height={2 * r} className="full" />
  ),
  early: (x: number, y: number, r: number) => (
    <path
      d={`M${x} ${y - r - 2}l${r + 2} ${r + 2}l${-r - 2} ${r + 2}l${-r - 2} ${-r - 2}z`}
      className="short"
    />
  ),
  precinct: (x: number, y: number) => <path d={`M${x - 4} ${y}h8M${x} ${y - 4}v8`} className="scale" />,
}

/** Points of a county as a drawing of its own (Mercator, fitted to the points; no tiles from elsewhere). The same
 *  points stand in a list beside it, which is the way by keyboard and screen reader; so the drawing is left out there. */
export function PointsMap({
  points,
  areaHref,
}: {
  points: MapPoint[]
  /** Where a part of the map is shown larger, for maps that may have very many points. */
  areaHref?: (area: Area) => string
}) {
  if (points.length === 0) return null
  const [first] = points
  // One point alone has no extent: half a kilometre around it.
  const around = points.every((p) => p.lat === first!.lat && p.lon === first!.lon)
    ? [-0.005, 0.005].map((d) => [first!.lon + d, first!.lat + d])
    : points.map((p) => [p.lon, p.lat])
  const projection = geoMercator().fitExtent(
    [
      [MARGIN, MARGIN],
      [WIDTH - MARGIN, HEIGHT - MARGIN - 14],
    ],
    { type: 'MultiPoint', coordinates: around },
  )
  const at = (lon: number, lat: number) => projection([lon, lat]) ?? [WIDTH / 2, HEIGHT / 2]
  const scale = scaleBar(projection.invert?.([WIDTH / 2, HEIGHT]) ?? null, at)
  const r = points.length > 200 ? 4.5 : 8
  const parts =
    areaHref && points.length > MOST_POINTS
      ? partsOf(
          points.map(({ lat, lon }) => {
            const [x, y] = at(lon, lat)
            return { lat, lon, x, y }
          }),
        )
      : null
  return (
    <svg className="map" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} aria-hidden="true" focusable="false">
      {parts?.map((part) => (
        <a key={`${part.x}|${part.y}`} href={areaHref!(part.area)} tabIndex={-1}>
          <title>{`${part.own.length} places: show this part`}</title>
          <PartMark part={part} className="full" />
        </a>
      ))}
      {(parts ? [] : points).map((point) => {
        const [x, y] = at(point.lon, point.lat)
        const drawn = (
          <>
            <title>{point.title}</title>
            {point.chosen && <circle cx={x} cy={y} r={r + 7} className="chosen" />}
            {SHAPES[point.shape](x, y, r)}
          </>
        )
        return point.href ? (
          <a key={point.id} href={point.href} tabIndex={-1}>
            {drawn}
          </a>
        ) : (
          <g key={point.id}>{drawn}</g>
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
