import { toKm } from '@/lib/kernel/miles'
import type { Area } from '@/lib/places/core/area'
import { distanceKm } from '@/lib/places/core/distance'

/** What the maps of the office share: their size, their scale, and parts where there are too many points. */

export const WIDTH = 640
export const HEIGHT = 430
export const MARGIN = 26
/** More points than this are gathered into parts of the map; choosing a part shows it larger. */
export const MOST_POINTS = 350
const CELL = 40
/** Lengths that a scale bar may have, in miles. */
const NICE_MILES = [1, 2, 5, 10, 20, 50, 100]

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

interface PointOnMap {
  lat: number
  lon: number
  x: number
  y: number
}

/** Neighbours on the drawing, and the area that they take. */
export interface Part<P> {
  x: number
  y: number
  own: P[]
  area: Area
}

/** Points gathered on a grid of the drawing. */
export function partsOf<P extends PointOnMap>(points: readonly P[]): Part<P>[] {
  const cells = new Map<string, P[]>()
  for (const point of points) {
    const key = `${Math.floor(point.x / CELL)}|${Math.floor(point.y / CELL)}`
    const own = cells.get(key)
    if (own) own.push(point)
    else cells.set(key, [point])
  }
  const round = (n: number, up: boolean) => (up ? Math.ceil(n * 1e5) : Math.floor(n * 1e5)) / 1e5
  return [...cells].map(([key, own]) => {
    const [column, row] = key.split('|').map(Number)
    const [[west, south], [east, north]] = corners(own) as [[number, number], [number, number]]
    return {
      x: (column! + 0.5) * CELL,
      y: (row! + 0.5) * CELL,
      own,
      area: [round(west, false), round(south, false), round(east, true), round(north, true)],
    }
  })
}

/** A part as a square with the number of its points. */
export const PartMark = ({ part, className }: { part: Part<unknown>; className: string }) => {
  const side = Math.min(CELL - 4, 14 + 5 * Math.log2(part.own.length))
  return (
    <>
      <rect
        x={part.x - side / 2}
        y={part.y - side / 2}
        width={side}
        height={side}
        rx="5"
        className={`cell ${className}`}
      />
      <text x={part.x} y={part.y + 5} textAnchor="middle" className="cell-count">
        {part.own.length}
      </text>
    </>
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
