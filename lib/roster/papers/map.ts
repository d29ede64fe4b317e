import { geoMercator } from 'd3-geo'
import type { CanvasElement, Content } from 'pdfmake/interfaces'
import { toKm } from '@/lib/kernel/miles'
import { PAPER_INK } from '@/lib/papers/ink'
import { distanceKm } from '@/lib/places/core/distance'
import type { PacketPlace } from './ground'

const NICE_MILES = [0.25, 0.5, 1, 2, 5, 10, 20, 50, 100]
const MARGIN = 34
/** Of our letters, above their line, in their size (the font's own table hhea). */
const ASCENT = 0.984

const INK = PAPER_INK.text

/** A drawn map for print: a dot and the code for each place, the chosen one large, north up, with a scale. Mercator, as
 *  on the board. Sizes in points. Null where no place is located. */
export function mapPicture(
  places: readonly PacketPlace[],
  chosenId: string | null,
  size: { width: number; height: number },
): Content | null {
  const shown = places.filter((p) => p.located)
  if (shown.length === 0) return null
  const lons = shown.map((p) => p.lon)
  const lats = shown.map((p) => p.lat)
  const pad = 0.004
  const projection = geoMercator().fitExtent(
    [
      [MARGIN, MARGIN],
      [size.width - MARGIN, size.height - MARGIN],
    ],
    {
      type: 'MultiPoint',
      coordinates: [
        [least(lons) - pad, least(lats) - pad],
        [most(lons) + pad, most(lats) + pad],
      ],
    },
  )
  const at = (lon: number, lat: number) => projection([lon, lat]) ?? [size.width / 2, size.height / 2]
  const letters = shown.length > 150 ? 5 : shown.length > 60 ? 6.5 : 8
  const scale = scaleOf(projection.invert?.([size.width / 2, size.height / 2]) ?? null, at, size)
  /** Words that begin at a point, on this line. Placed from below the drawing, where pdfmake then is. */
  const words = (text: string, x: number, baseline: number, fontSize: number): Content => ({
    text,
    fontSize,
    lineHeight: 1,
    noWrap: true,
    relativePosition: { x, y: baseline - ASCENT * fontSize - size.height },
  })
  const drawing: CanvasElement[] = [
    { type: 'rect', x: 0.5, y: 0.5, w: size.width - 1, h: size.height - 1, lineColor: PAPER_INK.line },
  ]
  const labels: Content[] = []
  // The place of the sheet is drawn last, over its neighbours.
  const inOrder = [...shown].sort((a, b) => Number(a.id === chosenId) - Number(b.id === chosenId))
  for (const place of inOrder) {
    const [x, y] = at(place.lon, place.lat)
    const own = place.id === chosenId
    if (own) drawing.push({ type: 'ellipse', x, y, r1: 8, r2: 8, lineWidth: 2, lineColor: INK })
    drawing.push({ type: 'ellipse', x, y, r1: own ? 4 : 2.4, r2: own ? 4 : 2.4, color: INK, lineWidth: 0 })
    labels.push(own ? words(place.code, x + 11, y - 6, 11) : words(place.code, x + 4, y + 3, letters))
  }
  if (scale) {
    const y = size.height - 12
    const [from, to] = [12, 12 + scale.points]
    drawing.push(
      ...[
        [from, y - 6, from, y],
        [from, y - 3, to, y - 3],
        [to, y - 6, to, y],
      ].map(
        ([x1, y1, x2, y2]): CanvasElement => ({
          type: 'line',
          x1: x1!,
          y1: y1!,
          x2: x2!,
          y2: y2!,
          lineColor: INK,
        }),
      ),
    )
    labels.push(words(`${scale.miles} mi`, to + 6, y, 9), words('north is up', size.width - 70, y, 9))
  }
  return { stack: [{ canvas: drawing }, ...labels] }
}

/** The places that are nearest to one, itself among them. */
export function nearest(places: readonly PacketPlace[], to: PacketPlace, n: number): PacketPlace[] {
  const found: { place: PacketPlace; km: number }[] = []
  for (const place of places) {
    if (!place.located) continue
    const km = distanceKm([place.lat, place.lon], [to.lat, to.lon])
    if (found.length === n && km >= found[n - 1]!.km) continue
    const at = found.findIndex((other) => other.km > km)
    found.splice(at < 0 ? found.length : at, 0, { place, km })
    found.length = Math.min(found.length, n)
  }
  return found.map(({ place }) => place)
}

/** A round number of miles that takes up to a third of the width, and the points that it takes. */
function scaleOf(
  middle: [number, number] | null,
  at: (lon: number, lat: number) => [number, number],
  size: { width: number },
): { miles: number; points: number } | null {
  if (!middle) return null
  const [lon, lat] = middle
  const kmPerDegree = distanceKm([lat, lon], [lat, lon + 0.1]) * 10
  const pointsPerDegree = (at(lon + 0.1, lat)[0] - at(lon, lat)[0]) * 10
  const points = (miles: number) => (toKm(miles) / kmPerDegree) * pointsPerDegree
  const miles = NICE_MILES.findLast((length) => points(length) <= size.width / 3) ?? NICE_MILES[0]!
  return { miles, points: points(miles) }
}

const least = (ns: number[]) => ns.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY)
const most = (ns: number[]) => ns.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY)
