import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { distanceKm, type LatLon } from '@/lib/places/core/distance'

/** tests/reference/geodesic/SOURCE.md: geodesics on WGS 84 by Karney's library, confirmed with GeodSolve; and the
 *  great circle on a sphere of 6371.0088 km by a second program. */
const folder = 'tests/reference/geodesic'
const named = JSON.parse(readFileSync(`${folder}/named_examples.json`, 'utf8')) as {
  name: string
  lat1: number
  lon1: number
  lat2: number
  lon2: number
  geodesic_m: number
  haversine_m_R6371008_8: number
}[]
const pairs = JSON.parse(readFileSync(`${folder}/county_pairs_geodesic.json`, 'utf8')) as {
  rows: [string, string, geodesicM: number, sphereM: number][]
}
const points = new Map(
  readFileSync(`${folder}/pair_points.csv`, 'utf8')
    .trim()
    .split('\n')
    .slice(1)
    .map((line): [string, LatLon] => {
      const [name, lat, lon] = line.split(',')
      return [name!, [Number(lat), Number(lon)]]
    }),
)
/** lat1 lon1 azi1 lat2 lon2 azi2 s12(m) … */
const geodTest = readFileSync(`${folder}/GeodTest-100.dat`, 'utf8')
  .trim()
  .split('\n')
  .map((line) => line.split(/\s+/).map(Number))

const error = (got: number, wanted: number) => Math.abs(got - wanted) / wanted

describe('great-circle distance', () => {
  it('is the sphere of the second program to a part in 100 million', () => {
    for (const e of named) {
      const km = distanceKm([e.lat1, e.lon1], [e.lat2, e.lon2])
      // The radii differ by 5e-9 of themselves.
      expect(error(km * 1000, e.haversine_m_R6371008_8)).toBeLessThan(1e-8)
    }
  })

  it('errs by under 0.35 % against the geodesic between 780 pairs within one county', () => {
    let worst = 0
    for (const [from, to, geodesicM, sphereM] of pairs.rows) {
      const km = distanceKm(points.get(from)!, points.get(to)!)
      // Distances in the file are rounded to a tenth of a millimetre, the points to 1e-7 degrees (a centimetre).
      expect(Math.abs(km * 1000 - sphereM)).toBeLessThan(0.05)
      worst = Math.max(worst, error(km * 1000, geodesicM))
    }
    expect(pairs.rows.length).toBe(780)
    expect(worst).toBeLessThan(0.0035)
    // It does err: a check that would also pass for the geodesic itself would say nothing about the sphere.
    expect(worst).toBeGreaterThan(0.001)
  })

  it('errs by at most 0.57 % against geodesics anywhere on Earth', () => {
    const worst = Math.max(
      ...named.map((e) => error(distanceKm([e.lat1, e.lon1], [e.lat2, e.lon2]) * 1000, e.geodesic_m)),
      ...geodTest.map((r) =>
        error(distanceKm([r[0]!, r[1]!], [r[3]!, ((r[4]! + 540) % 360) - 180]) * 1000, r[6]!),
      ),
    )
    expect(worst).toBeLessThan(0.0057)
  })

  it('is zero for one point, the same both ways, and refuses what is not on Earth', () => {
    expect(distanceKm([36.1, -79.4], [36.1, -79.4])).toBe(0)
    expect(distanceKm([36.1, -79.4], [35.9, -79.1])).toBe(distanceKm([35.9, -79.1], [36.1, -79.4]))
    for (const bad of [
      [91, 0],
      [0, 181],
      [Number.NaN, 0],
    ] as [number, number][])
      expect(() => distanceKm([0, 0], bad)).toThrow(RangeError)
  })
})
