/** Where an invented county lies: a town, villages around it, farmland between. The coordinates are plain geometry
 *  near 42° N 91° W; they depict no real place. */

import type { Random } from '@/lib/kernel/random'
import type { LatLon } from '@/lib/places/core/distance'
import { inventTowns, STREETS } from './names'

export interface Bounds {
  south: number
  north: number
  west: number
  east: number
}

export interface Settlement {
  name: string
  at: LatLon
  /** Spread of places and homes around the middle, standard deviation in degrees of latitude. */
  spread: number
  /** Share of the county that lives here, relative to the others. */
  weight: number
}

/** A county of 31 places is about 45 by 50 km; area grows with the number of places. `origin` is the south-west
 *  corner. */
export function boundsOf(places: number, origin: LatLon): Bounds {
  const scale = Math.max(0.5, Math.sqrt(places / 31))
  return {
    south: origin[0],
    north: origin[0] + 0.4 * scale,
    west: origin[1],
    east: origin[1] + 0.6 * scale,
  }
}

const round = (degrees: number) => Math.round(degrees * 1e5) / 1e5
const clamp = (value: number, low: number, high: number) => Math.min(high, Math.max(low, value))

/** A point about normally distributed around another, kept inside the bounds. */
export function pointNear(random: Random, middle: LatLon, spread: number, bounds: Bounds): LatLon {
  // The sum of four uniform numbers has a standard deviation of sqrt(4/12): near enough to a normal.
  const bell = () => (random.next() + random.next() + random.next() + random.next() - 2) * Math.sqrt(3)
  return [
    round(clamp(middle[0] + bell() * spread, bounds.south, bounds.north)),
    round(clamp(middle[1] + bell() * spread * 1.35, bounds.west, bounds.east)),
  ]
}

/** One town for about every thirty places, and a village for about every three places besides. */
export function settle(random: Random, places: number, bounds: Bounds): Settlement[] {
  const towns = Math.max(1, Math.round(places / 31))
  const villages = Math.max(2, Math.round(places / 3.5))
  const names = inventTowns(random, towns + villages)
  const height = bounds.north - bounds.south
  const width = bounds.east - bounds.west
  return names.map((name, i) => {
    // The first town lies near the middle; nothing lies within a twelfth of the border.
    const share = (middle: number, room: number) => middle + (random.next() - 0.5) * room
    const lat = bounds.south + height * (i === 0 ? share(0.5, 0.1) : share(0.5, 5 / 6))
    const lon = bounds.west + width * (i === 0 ? share(0.5, 0.1) : share(0.5, 5 / 6))
    return i < towns
      ? { name, at: [lat, lon], spread: 0.022, weight: 10 }
      : { name, at: [lat, lon], spread: 0.012, weight: 1 }
  })
}

/** One settlement by weight. */
export function chooser(settlements: readonly Settlement[]): (random: Random) => Settlement {
  const ends: number[] = []
  let total = 0
  for (const { weight } of settlements) {
    total += weight
    ends.push(total)
  }
  return (random) => {
    const wanted = random.next() * total
    let low = 0
    for (let high = ends.length - 1; low < high; ) {
      const middle = (low + high) >> 1
      if (ends[middle]! <= wanted) low = middle + 1
      else high = middle
    }
    return settlements[low]!
  }
}

/** A name that no earlier place has, and an address. */
export function placeLabel(
  random: Random,
  town: string,
  taken: Set<string>,
  buildings: readonly string[],
): { name: string; address: string } {
  const shuffled = random.shuffle(buildings)
  let name = `${town} ${shuffled[0]}`
  for (let i = 1; taken.has(name); i++) {
    const round = Math.floor(i / shuffled.length)
    name = `${town} ${shuffled[i % shuffled.length]}${round === 0 ? '' : ` ${round + 1}`}`
  }
  taken.add(name)
  return { name, address: `${100 + random.below(900)} ${random.pick(STREETS)}, ${town}` }
}
