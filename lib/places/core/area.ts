/** West, south, east, north in degrees. */
export type Area = readonly [west: number, south: number, east: number, north: number]

/** An area as an address line carries it. Null: not one. */
export function areaIn(text: string | undefined): Area | null {
  const parts = (text ?? '').split(',').map(Number)
  return parts.length === 4 &&
    parts.every(Number.isFinite) &&
    parts[0]! <= parts[2]! &&
    parts[1]! <= parts[3]!
    ? (parts as unknown as Area)
    : null
}

/** Edges included. */
export const inArea = (area: Area, at: { lat: number; lon: number }): boolean =>
  at.lon >= area[0] && at.lat >= area[1] && at.lon <= area[2] && at.lat <= area[3]
