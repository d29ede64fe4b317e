/** The checker's own reading of an instance (see verify.ts). */
import { holdsOn } from '@/lib/kernel/spans'
import { distanceKm } from '@/lib/places/core/distance'
import type { RosterInstance, RosterPerson, RosterSeat } from '../schema'

export interface Verdict {
  ok: boolean
  problems: { where: string; message: string }[]
  /** Recomputed values: level 1 by class, levels 2 and 3. */
  values: { seats: number[]; violations: number; cost: number }
  /** Recomputed bounds; null where no proof was given. */
  bounds: { seats: (number | null)[]; violations: number | null; cost: number | null }
  /** Levels whose closing rests on a search that this checker doesn't repeat. */
  notRepeated: number[]
}

export interface Kind {
  seats: RosterSeat[]
  priority: number
  crew: string
  /** Eligible people on the date, unlocked: bit 0 whole (or the seat's half), bit 1 morning, bit 2 afternoon. */
  who: { person: RosterPerson; cost: number; ways: number }[]
}

const lesser = (a: number | null, b: number | null): number | null =>
  a === null ? b : b === null ? a : Math.min(a, b)

const TIERS = ['lead', 'minimum', 'rest']

export class Reader {
  readonly seats: Map<string, RosterSeat>
  readonly people: Map<string, RosterPerson>
  readonly classKeys: string[]
  /** Seats that locks fill. */
  readonly lockedSeats: Set<string>
  private readonly openHalf = new Map<string, 'morning' | 'afternoon'>()
  private readonly places: Map<string, RosterInstance['places'][number]>
  private readonly currentSpots = new Map<string, Set<string>>()

  constructor(readonly instance: RosterInstance) {
    this.seats = new Map(instance.seats.map((s) => [s.id, s]))
    this.people = new Map(instance.people.map((p) => [p.id, p]))
    this.places = new Map(instance.places.map((p) => [p.id, p]))
    this.lockedSeats = new Set(instance.locks.map((l) => l.seatId))
    for (const { seatId, half } of instance.locks) {
      if (this.seats.get(seatId)!.shift !== 'full' || half === 'full') continue
      const other = half === 'morning' ? 'afternoon' : 'morning'
      if (instance.locks.some((l) => l.seatId === seatId && l.half === other)) continue
      this.openHalf.set(seatId, other)
      this.lockedSeats.delete(seatId)
    }
    const keys = new Map(
      instance.seats.map((s) => [`${s.tier}/${s.rank}`, TIERS.indexOf(s.tier) * 100 + s.rank]),
    )
    this.classKeys = [...keys].sort((a, b) => a[1] - b[1]).map(([key]) => key)
    for (const c of instance.current) {
      const seat = this.seats.get(c.seatId)
      if (!seat) continue
      const set = this.currentSpots.get(c.personId) ?? new Set()
      set.add(this.spot(seat))
      this.currentSpots.set(c.personId, set)
    }
  }

  classOf = (seat: RosterSeat) => this.classKeys.indexOf(`${seat.tier}/${seat.rank}`)
  crewOf = (seat: RosterSeat) => `${seat.placeId}|${seat.precinctId ?? ''}|${seat.date}`
  private spot = (seat: RosterSeat) => `${this.crewOf(seat)}|${seat.position}|${seat.shift}`

  /** What of a seat's day is to be filled: its shift, or the half that no lock takes. */
  shiftOf = (seat: RosterSeat) => this.openHalf.get(seat.id) ?? seat.shift

  metres(person: RosterPerson, seat: RosterSeat): number {
    const to = this.places.get(seat.placeId)!.at
    return person.at === null || to === null ? 0 : Math.round(distanceKm(person.at, to) * 1000)
  }

  cost(person: RosterPerson, seat: RosterSeat): number {
    const c = this.instance.costs
    let sum = this.metres(person, seat) * c.perTravelMetre
    if (person.lastPlaceId !== null && person.lastPlaceId !== seat.placeId) sum += c.notReturning
    if (person.preferredPlaces.length > 0 && !person.preferredPlaces.includes(seat.placeId))
      sum += c.notPreferred
    if (this.instance.current.length > 0 && !this.currentSpots.get(person.id)?.has(this.spot(seat)))
      sum += c.change
    return sum
  }

  /** Ways in which a person may take a seat: bit 0 alone, bit 1 its morning, bit 2 its afternoon. */
  ways(person: RosterPerson, seat: RosterSeat): number {
    const limit = lesser(person.maxTravelKm, this.instance.rules.maxTravelKm)
    const place = this.places.get(seat.placeId)!
    // Most people of a large county live too far north or south; a degree of latitude is over 111 km.
    if (limit !== null && person.at && place.at && Math.abs(person.at[0] - place.at[0]) * 111 > limit + 0.1)
      return 0
    if (person.excluded || person.excludedPlaces.includes(seat.placeId)) return 0
    if (
      seat.certificate !== null &&
      !person.certificates.some((c) => c.key === seat.certificate && holdsOn(c.spans, seat.date))
    )
      return 0
    if (seat.languages.some((l) => !person.languages.includes(l))) return 0
    if (seat.skills.some((s) => !person.skills.includes(s))) return 0
    if (person.experience < seat.minExperience) return 0
    if (place.residences && !(person.residence !== null && place.residences.includes(person.residence)))
      return 0
    if (limit !== null && this.metres(person, seat) > limit * 1000) return 0
    const shifts =
      person.available === null
        ? ['full']
        : person.available.filter((a) => a.date === seat.date).map((a) => a.shift)
    const half = (name: string) => shifts.includes(name as never) || shifts.includes('either')
    const full = shifts.includes('full')
    const wanted = this.shiftOf(seat)
    if (wanted !== 'full') return full || half(wanted) ? 1 : 0
    return (full ? 1 : 0) | (half('morning') ? 2 : 0) | (half('afternoon') ? 4 : 0)
  }

  /** Free seats that ask for the same and belong to the same crew, with everybody who may take them. */
  kinds(): Kind[] {
    const lockedOn = new Set(
      this.instance.locks.map((l) => `${l.personId}|${this.seats.get(l.seatId)!.date}`),
    )
    const map = new Map<string, Kind>()
    for (const seat of this.instance.seats) {
      if (this.lockedSeats.has(seat.id)) continue
      const key = JSON.stringify([
        this.crewOf(seat),
        seat.position,
        seat.shift,
        this.shiftOf(seat),
        seat.tier,
        seat.rank,
        seat.certificate,
        [...seat.languages].sort(),
        [...seat.skills].sort(),
        seat.minExperience,
        seat.duty,
      ])
      const kind = map.get(key)
      if (kind) {
        kind.seats.push(seat)
        continue
      }
      const who: Kind['who'] = []
      for (const person of this.instance.people) {
        const ways = this.ways(person, seat)
        if (ways > 0 && !lockedOn.has(`${person.id}|${seat.date}`))
          who.push({ person, cost: this.cost(person, seat), ways })
      }
      map.set(key, { seats: [seat], priority: this.classOf(seat), crew: this.crewOf(seat), who })
    }
    return [...map.values()]
  }
}
