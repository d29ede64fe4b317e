/** The arcs of a model: everybody who may take a seat of each group, cheapest first. Looks only at people whose travel
 *  limit reaches the place and who hold the certificate. O(places × people of the same latitude + arcs log). */
import { holdsOn } from '@/lib/kernel/spans'
import type { RosterInstance, RosterSeat } from '../schema'
import { AFTERNOON, METRES_A_DEGREE, MORNING, metresBetween, surelyFurther, WHOLE } from './eligibility'

interface ArcContext {
  dates: string[]
  dateIndex: Map<string, number>
  placeIndex: Map<string, number>
  unitOf: Int32Array
  unitBits: number[]
  unitLocked: Uint8Array
  groupSeats: number[][]
  groupShift: Uint8Array
  costOf(p: number, seat: RosterSeat, place: number, metres: number): number
  lastPlace: number[]
  preferred: (Set<number> | null)[]
}

/** People by latitude, so that a place looks only at those in the band that a travel limit reaches. */
class LatitudeBand {
  private readonly sorted: Int32Array
  private readonly latitudes: Float64Array
  /** Without a home: travel is unknown, so every place is within reach. */
  private readonly homeless: number[]

  constructor(private readonly people: RosterInstance['people']) {
    const at = people.map((_, p) => p).filter((p) => people[p]!.at !== null)
    this.sorted = Int32Array.from(at.sort((a, b) => people[a]!.at![0] - people[b]!.at![0]))
    this.latitudes = Float64Array.from(this.sorted, (p) => people[p]!.at![0])
    this.homeless = people.flatMap((person, p) => (person.at === null ? [p] : []))
  }

  /** Everybody less than some metres from a point, and others. */
  around(point: readonly [number, number] | null, metres: number): readonly number[] | Int32Array {
    if (!point || metres === Number.POSITIVE_INFINITY) return this.people.map((_, p) => p)
    const degrees = metres / METRES_A_DEGREE
    const band = this.sorted.subarray(this.firstFrom(point[0] - degrees), this.firstFrom(point[0] + degrees))
    return this.homeless.length === 0 ? band : [...this.homeless, ...band]
  }

  private firstFrom(latitude: number): number {
    let low = 0
    let high = this.latitudes.length
    while (low < high) {
      const middle = (low + high) >> 1
      if (this.latitudes[middle]! < latitude) low = middle + 1
      else high = middle
    }
    return low
  }
}

export function buildArcs(instance: RosterInstance, context: ArcContext) {
  const { people, seats, places } = instance
  const D = context.dates.length
  const tables = new Map<string, Uint8Array>()
  /** Who holds a certificate on a date and is free of locks. */
  const holdersOf = (certificate: string | null, date: string): Uint8Array => {
    const key = `${certificate ?? ''}|${date}`
    let table = tables.get(key)
    if (!table) {
      const d = context.dateIndex.get(date)!
      table = Uint8Array.from(people, (person, p) => {
        const unit = context.unitOf[p * D + d]!
        if (unit < 0 || context.unitLocked[unit]) return 0
        const holds =
          certificate === null ||
          person.certificates.some((c) => c.key === certificate && holdsOn(c.spans, date as never))
        return Number(holds)
      })
      tables.set(key, table)
    }
    return table
  }
  const excludedPlaces = people.map((p) => (p.excludedPlaces.length > 0 ? new Set(p.excludedPlaces) : null))
  const countyLimit = (instance.rules.maxTravelKm ?? Number.POSITIVE_INFINITY) * 1000
  const limits = Float64Array.from(people, (p) =>
    Math.min((p.maxTravelKm ?? Number.POSITIVE_INFINITY) * 1000, countyLimit),
  )
  const mostMetres = limits.reduce((a, b) => Math.max(a, b), 0)
  const band = new LatitudeBand(people)
  const within = new Map<number, { people: Int32Array; metres: Float64Array }>()
  /** People whose travel limit reaches a place, with their metres. */
  const withinReach = (place: number) => {
    let found = within.get(place)
    if (!found) {
      const to = places[place]!.at
      const list: number[] = []
      const metres: number[] = []
      for (const p of band.around(to, mostMetres + 100)) {
        const from = people[p]!.at
        if (from && to && surelyFurther(from, to, limits[p]! + 100)) continue
        const m = metresBetween(from, to)
        if (m > limits[p]!) continue
        list.push(p)
        metres.push(m)
      }
      found = { people: Int32Array.from(list), metres: Float64Array.from(metres) }
      // Seats come grouped by place in practice: a small cache is enough and bounds the memory.
      if (within.size > 64) within.clear()
      within.set(place, found)
    }
    return found
  }
  const arcStart = new Int32Array(context.groupSeats.length + 1)
  let unitBuffer = new Int32Array(1 << 16)
  let costBuffer = new Int32Array(1 << 16)
  let kindBuffer = new Uint8Array(1 << 16)
  let count = 0
  // One number a candidate arc (cost, then unit, then kind), so that sorting needs no comparator calls.
  let keys = new Float64Array(1 << 12)
  let found = 0
  const unitSpan = context.unitBits.length * 4
  const push = (cost: number, unit: number, kind: number) => {
    if (found === keys.length) {
      const next = new Float64Array(found * 2)
      next.set(keys)
      keys = next
    }
    keys[found++] = cost * unitSpan + unit * 4 + kind
  }
  context.groupSeats.forEach((list, g) => {
    const seat = seats[list[0]!]!
    const place = context.placeIndex.get(seat.placeId)!
    const residences = places[place]!.residences
    const near = withinReach(place)
    const holders = holdersOf(seat.certificate, seat.date)
    const date = context.dateIndex.get(seat.date)!
    const shift = context.groupShift[g]!
    const simple = seat.languages.length === 0 && seat.skills.length === 0 && seat.minExperience === 0
    found = 0
    for (let i = 0; i < near.people.length; i++) {
      const p = near.people[i]!
      if (!holders[p]) continue
      const metres = near.metres[i]!
      const person = people[p]!
      if (excludedPlaces[p]?.has(seat.placeId)) continue
      if (residences !== null && (person.residence === null || !residences.includes(person.residence)))
        continue
      if (!simple) {
        if (person.experience < seat.minExperience) continue
        if (!seat.languages.every((l) => person.languages.includes(l))) continue
        if (!seat.skills.every((k) => person.skills.includes(k))) continue
      }
      const unit = context.unitOf[p * D + date]!
      const bits = context.unitBits[unit]!
      const cost = context.costOf(p, seat, place, metres)
      if (shift === WHOLE) {
        if (bits & 1) push(cost, unit, WHOLE)
        if (bits & 2) push(cost, unit, MORNING)
        if (bits & 4) push(cost, unit, AFTERNOON)
      } else if (bits & (shift === MORNING ? 3 : 5)) push(cost, unit, WHOLE)
    }
    keys.subarray(0, found).sort()
    if (count + found > unitBuffer.length) {
      const size = Math.max(unitBuffer.length * 2, count + found)
      const grow = <T extends Int32Array | Uint8Array>(old: T, next: T): T => {
        next.set(old as never)
        return next
      }
      unitBuffer = grow(unitBuffer, new Int32Array(size))
      costBuffer = grow(costBuffer, new Int32Array(size))
      kindBuffer = grow(kindBuffer, new Uint8Array(size))
    }
    for (let i = 0; i < found; i++) {
      const key = keys[i]!
      const cost = Math.floor(key / unitSpan)
      const rest = key - cost * unitSpan
      unitBuffer[count] = rest >>> 2
      costBuffer[count] = cost
      kindBuffer[count] = rest & 3
      count++
    }
    arcStart[g + 1] = count
  })
  return {
    arcStart,
    arcUnit: unitBuffer.slice(0, count),
    arcCost: costBuffer.slice(0, count),
    arcKind: kindBuffer.slice(0, count),
  }
}
