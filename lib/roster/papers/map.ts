import { geoMercator } from 'd3-geo'
import { toKm } from '@/lib/kernel/miles'
import { distanceKm } from '@/lib/places/core/distance'
import type { PacketPlace } from './ground'

const NICE_MILES = [0.25, 0.5, 1, 2, 5, 10, 20, 50, 100]
const MARGIN = 34

/** A drawn map for print: a dot and the code for each place, the chosen one large, north up, with a scale. Mercator, as
 *  on the board. An SVG text; sizes in points. */
export function mapPicture(
  places: readonly PacketPlace[],
  chosenId: string | null,
  size: { width: number; height: number },
): string {
  const shown = places.filter((p) => p.located)
  if (shown.length === 0) return ''
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
  // The place of the sheet is drawn last, over its neighbours.
  const inOrder = [...shown].sort((a, b) => Number(a.id === chosenId) - Number(b.id === chosenId))
  const dots = inOrder.map((place) => {
    const [x, y] = at(place.lon, place.lat).map((n) => n.toFixed(1)) as [string, string]
    const own = place.id === chosenId
    return `${own ? `<circle cx="${x}" cy="${y}" r="8" fill="none" stroke="#1b2430" stroke-width="2"/>` : ''}<circle cx="${x}" cy="${y}" r="${own ? 4 : 2.4}" fill="#1b2430"/><text x="${Number(x) + (own ? 11 : 4)}" y="${Number(y) + (own ? -6 : 3)}" font-family="Atkinson" font-size="${own ? 11 : letters}">${escaped(place.code)}</text>`
  })
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${size.width}" height="${size.height}" viewBox="0 0 ${size.width} ${size.height}"><rect x="0.5" y="0.5" width="${size.width - 1}" height="${size.height - 1}" fill="none" stroke="#8a8778"/>${dots.join('')}${scaleOf(projection.invert?.([size.width / 2, size.height / 2]) ?? null, at, size)}</svg>`
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

function scaleOf(
  middle: [number, number] | null,
  at: (lon: number, lat: number) => [number, number],
  size: { width: number; height: number },
): string {
  if (!middle) return ''
  const [lon, lat] = middle
  const kmPerDegree = distanceKm([lat, lon], [lat, lon + 0.1]) * 10
  const pointsPerDegree = (at(lon + 0.1, lat)[0] - at(lon, lat)[0]) * 10
  const points = (miles: number) => (toKm(miles) / kmPerDegree) * pointsPerDegree
  const miles = NICE_MILES.findLast((length) => points(length) <= size.width / 3) ?? NICE_MILES[0]!
  const y = size.height - 12
  return `<path d="M12 ${y}v-6v3h${points(miles).toFixed(1)}v-3v6" fill="none" stroke="#1b2430"/><text x="${(points(miles) + 18).toFixed(1)}" y="${y}" font-family="Atkinson" font-size="9">${miles} mi</text><text x="${size.width - 70}" y="${y}" font-family="Atkinson" font-size="9">north is up</text>`
}

const least = (ns: number[]) => ns.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY)
const most = (ns: number[]) => ns.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY)
const escaped = (text: string) => text.replace(/[<>&"']/g, (c) => `&#${c.charCodeAt(0)};`)
