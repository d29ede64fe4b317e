/** What chains of changes from an empty seat lead to: the witness of an explanation (see explain.ts). Whoever holds a seat
 *  could take another of its group, so groups are reached whole. For one seat they are walked, O(arcs); for many, groups
 *  that reach each other are one part, found once: O(arcs) for all seats together, and for each the size of its
 *  witness. */
import { allFrom, Components } from './components'
import { AFTERNOON, MORNING, WHOLE } from './eligibility'
import type { Prepared } from './prepared'

export interface Closed {
  groups: readonly number[]
  /** The empty seat first, then those of which the people are held. */
  seats: number[]
  units: number[]
}

/** Groups that reach each other. */
interface Part {
  groups: readonly number[]
  seats: number[]
  units: number[]
  next: readonly Part[]
  /** It leads to somebody free. */
  free: boolean
  /** The last priority class of the groups that it leads to, its own among them. */
  last: number
}

class Surroundings {
  private readonly parts: Components<Part>
  private readonly groupAt: Int32Array
  private readonly seatAt: Int32Array
  private readonly unitAt: Int32Array
  private stamp = 0

  /** `kinds`: bits of the kinds of arc that are followed. `second`: of shared seats the afternoon's person counts, else
   *  the morning's. */
  constructor(
    private readonly prepared: Prepared,
    private readonly kinds: number,
    private readonly second: boolean,
  ) {
    const { groupCount, seatCount, unitCount } = prepared.model
    this.parts = new Components(
      groupCount,
      (g) => this.groupsAround(g),
      (groups, next) => this.partOf(groups, next),
    )
    this.groupAt = new Int32Array(groupCount)
    this.seatAt = new Int32Array(seatCount)
    this.unitAt = new Int32Array(unitCount)
  }

  private occupantOf(seat: number): number {
    const { first, second } = this.prepared.state
    return this.second && second[seat]! >= 0 ? second[seat]! : first[seat]!
  }

  /** Does somebody hold a seat by an arc of one of these kinds? Then chains that reach its group reach it. */
  private holdsBy(seat: number, unit: number): boolean {
    const { model, state } = this.prepared
    const shared = model.groupShift[model.seatGroup[seat]!] === WHOLE && state.second[seat]! >= 0
    const kind = !shared ? WHOLE : state.second[seat] === unit ? AFTERNOON : MORNING
    return ((1 << kind) & this.kinds) !== 0
  }

  /** Groups whose seats are held by those whom the seats of one group could take; none more once somebody is free. */
  private *groupsAround(group: number): Generator<number> {
    const { model, state } = this.prepared
    for (let a = model.arcStart[group]!; a < model.arcStart[group + 1]!; a++) {
      if (((1 << model.arcKind[a]!) & this.kinds) === 0) continue
      const unit = model.arcUnit[a]!
      const holder = state.seatOfUnit[unit]!
      if (holder < 0) return
      if (this.occupantOf(holder) === unit) yield model.seatGroup[holder]!
    }
  }

  /** Whom the seats of one group could take and who isn't there as holder of another group's seat: half-day people who
   *  serve the other half somewhere count as people of this group, and seats held by another kind of arc are named one
   *  by one. */
  private addOthers(group: number, part: Part): void {
    const { model, state } = this.prepared
    for (let a = model.arcStart[group]!; a < model.arcStart[group + 1]!; a++) {
      if (((1 << model.arcKind[a]!) & this.kinds) === 0) continue
      const unit = model.arcUnit[a]!
      const holder = state.seatOfUnit[unit]!
      if (holder < 0) {
        part.free = true
        return
      }
      if (this.occupantOf(holder) !== unit) part.units.push(unit)
      else if (!this.holdsBy(holder, unit)) {
        part.seats.push(holder)
        part.units.push(unit)
      }
    }
  }

  private partOf(groups: readonly number[], next: readonly Part[]): Part {
    const { model } = this.prepared
    const part: Part = { groups, seats: [], units: [], next, free: false, last: 0 }
    for (const other of next) {
      if (other.free) part.free = true
      part.last = Math.max(part.last, other.last)
    }
    for (const g of groups) {
      part.last = Math.max(part.last, model.groupClass[g]!)
      // Of a part that leads to somebody free nothing else is asked.
      if (part.free) continue
      for (const s of model.groupSeats[g]!) {
        const unit = this.occupantOf(s)
        if (unit < 0 || !this.holdsBy(s, unit)) continue
        part.seats.push(s)
        part.units.push(unit)
      }
      this.addOthers(g, part)
    }
    part.seats = [...new Set(part.seats)]
    part.units = [...new Set(part.units)]
    return part
  }

  /** As `ofParts`, without finding parts. */
  walk(seat: number): Closed | null {
    const { model, state } = this.prepared
    const last = model.groupClass[model.seatGroup[seat]!]!
    const stamp = ++this.stamp
    const groups = [model.seatGroup[seat]!]
    const found: Closed = { groups, seats: [seat], units: [] }
    this.groupAt[groups[0]!] = stamp
    this.seatAt[seat] = stamp
    const take = (unit: number) => {
      if (this.unitAt[unit] === stamp) return
      this.unitAt[unit] = stamp
      found.units.push(unit)
    }
    const takeSeat = (s: number, unit: number) => {
      take(unit)
      if (this.seatAt[s] === stamp) return
      this.seatAt[s] = stamp
      found.seats.push(s)
    }
    for (const group of groups) {
      if (model.groupClass[group]! > last) return null
      for (const s of model.groupSeats[group]!) {
        const unit = this.occupantOf(s)
        if (unit >= 0 && this.holdsBy(s, unit)) takeSeat(s, unit)
      }
      for (let a = model.arcStart[group]!; a < model.arcStart[group + 1]!; a++) {
        if (((1 << model.arcKind[a]!) & this.kinds) === 0) continue
        const unit = model.arcUnit[a]!
        if (this.unitAt[unit] === stamp) continue
        const holder = state.seatOfUnit[unit]!
        if (holder < 0) return null
        if (this.occupantOf(holder) !== unit) {
          take(unit)
          continue
        }
        const g = model.seatGroup[holder]!
        if (this.groupAt[g] !== stamp) {
          this.groupAt[g] = stamp
          groups.push(g)
        }
        if (!this.holdsBy(holder, unit)) takeSeat(holder, unit)
      }
    }
    return found
  }

  ofParts(seat: number): Closed | null {
    const { model } = this.prepared
    const start = this.parts.of(model.seatGroup[seat]!)
    if (start.free || start.last > model.groupClass[model.seatGroup[seat]!]!) return null
    const parts = allFrom(start)
    const stamp = ++this.stamp
    const found = { groups: [] as number[], seats: [seat], units: [] as number[] }
    this.seatAt[seat] = stamp
    for (const part of parts) {
      for (const g of part.groups) found.groups.push(g)
      for (const s of part.seats) {
        if (this.seatAt[s] === stamp) continue
        this.seatAt[s] = stamp
        found.seats.push(s)
      }
      for (const unit of part.units) {
        if (this.unitAt[unit] === stamp) continue
        this.unitAt[unit] = stamp
        found.units.push(unit)
      }
    }
    return found
  }
}

const surroundings = new WeakMap<Prepared, Map<number, Surroundings>>()

/** The seats that chains from an empty one lead to, and their people; null where a chain ends at somebody free or at a
 *  seat of a later class. `many`: most empty seats will be asked about. */
export function closedAround(
  prepared: Prepared,
  seat: number,
  kinds: number,
  second: boolean,
  many = false,
): Closed | null {
  const own = surroundings.get(prepared) ?? new Map<number, Surroundings>()
  surroundings.set(prepared, own)
  const way = kinds * 2 + Number(second)
  const found = own.get(way) ?? new Surroundings(prepared, kinds, second)
  own.set(way, found)
  return many ? found.ofParts(seat) : found.walk(seat)
}
