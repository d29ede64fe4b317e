/** A roster being worked on: who sits where, and the value of each level, kept up to date move by move.
 *  `whole[s]` is the unit that takes seat s alone; a shared seat has `whole[s]` for the morning and `second[s]` for
 *  the afternoon. All counts exact integers. */
import {
  type CrewTables,
  crewTablesOf,
  dutyViolation,
  lackingBits,
  partyDifferences,
  shortfall,
} from './crew-tables'
import type { Model } from './model'

export class RosterState {
  readonly first: Int32Array
  readonly second: Int32Array
  readonly seatOfUnit: Int32Array
  /** Weighted violations of each crew (balance, lead and deputy, minimums). */
  private readonly pairPartners: Map<number, { other: number; weight: number; apart: boolean }[]>
  private readonly lockedPlace: Map<number, number>
  /** Bits of the minimums that each unit meets. */
  readonly unitBits: Int32Array
  /** Excess that the locked members of each crew have among themselves: a hard balance asks for no more than it. */
  private readonly lockedExcess: Int32Array
  private readonly tables: CrewTables
  private readonly pair = new Int32Array(2)

  constructor(readonly model: Model) {
    const { instance } = model
    this.first = new Int32Array(model.seatCount).fill(-1)
    this.second = new Int32Array(model.seatCount).fill(-1)
    this.seatOfUnit = new Int32Array(model.unitCount).fill(-1)
    this.pairPartners = new Map()
    const link = (a: string, b: string, weight: number, apart: boolean) => {
      const x = model.personIndex.get(a)!
      const y = model.personIndex.get(b)!
      for (const [p, q] of [
        [x, y],
        [y, x],
      ] as const) {
        const list = this.pairPartners.get(p) ?? []
        list.push({ other: q, weight, apart })
        this.pairPartners.set(p, list)
      }
    }
    for (const pair of instance.rules.keepApart) link(pair.people[0], pair.people[1], pair.weight, true)
    for (const pair of instance.rules.keepTogether) link(pair.people[0], pair.people[1], pair.weight, false)
    this.lockedPlace = new Map()
    for (const lock of model.locks) {
      const date = model.dates.indexOf(instance.seats[lock.seat]!.date)
      this.lockedPlace.set(
        lock.person * model.dates.length + date,
        model.crewPlace[model.seatCrew[lock.seat]!]!,
      )
    }
    this.tables = crewTablesOf(model)
    this.unitBits = this.tables.unitBits
    this.lockedExcess = Int32Array.from(model.crews, (c, i) =>
      c.locked.length > 0 ? this.balanceExcess(i) : 0,
    )
  }

  copyFrom(other: RosterState): void {
    this.first.set(other.first)
    this.second.set(other.second)
    this.seatOfUnit.set(other.seatOfUnit)
  }

  /** Puts a unit (−1: nobody) into a seat's first or second slot, without touching any other seat. */
  put(seat: number, slot: 0 | 1, unit: number): void {
    const row = slot === 0 ? this.first : this.second
    const old = row[seat]!
    if (old >= 0 && this.seatOfUnit[old] === seat) this.seatOfUnit[old] = -1
    row[seat] = unit
    if (unit >= 0) this.seatOfUnit[unit] = seat
  }

  filledByClass(): number[] {
    const filled = [...this.model.lockedFilled]
    for (let s = 0; s < this.model.seatCount; s++)
      if (this.first[s]! >= 0) filled[this.model.groupClass[this.model.seatGroup[s]!]!]!++
    return filled
  }

  /** Excess over the allowed party difference in the worse half of the day. Whole-day members count in both. */
  balanceExcess(crew: number): number {
    const rule = this.model.instance.rules.balance
    if (!rule) return 0
    partyDifferences(this.model, this.tables, crew, this.first, this.second, this.pair)
    return Math.max(
      0,
      Math.abs(this.pair[0]!) - rule.maxDifference,
      Math.abs(this.pair[1]!) - rule.maxDifference,
    )
  }

  /** Members of the first party less those of the second, in the morning and in the afternoon. */
  differences(crew: number): [number, number] {
    partyDifferences(this.model, this.tables, crew, this.first, this.second, this.pair)
    return [this.pair[0]!, this.pair[1]!]
  }

  /** How far a crew breaks a hard balance; 0 where the rule is soft or absent. */
  hardBreach(crew: number): number {
    if (this.model.instance.rules.balance?.mode !== 'hard') return 0
    return Math.max(0, this.balanceExcess(crew) - this.lockedExcess[crew]!)
  }

  hardBreaches(): number {
    let sum = 0
    if (this.model.instance.rules.balance?.mode === 'hard')
      for (let c = 0; c < this.model.crews.length; c++) sum += this.hardBreach(c)
    return sum
  }

  /** Soft violations of a crew, weighted; a hard balance isn't among them. O(its seats × its minimums). */
  crewViolation(crew: number): number {
    const { model, tables, first, second } = this
    const { balance } = model.instance.rules
    const excess =
      balance?.mode === 'soft' && balance.weight > 0 ? balance.weight * this.balanceExcess(crew) : 0
    return (
      excess +
      dutyViolation(model, tables, crew, first, second) +
      shortfall(model, tables, crew, first, second)
    )
  }

  /** What of a crew's violations is the shortfall of minimums, weighted. */
  shortfall = (crew: number): number => shortfall(this.model, this.tables, crew, this.first, this.second)

  /** Bits of the minimums (the first 31) that a crew falls short of. */
  lacking = (crew: number): number => lackingBits(this.model, this.tables, crew, this.first, this.second)

  /** Violations of a crew, a broken hard balance as a great many. */
  worth = (crew: number): number => this.crewViolation(crew) + 1e6 * this.hardBreach(crew)

  /** Index of the place where a person serves on a date, or −1. */
  placeOf(person: number, date: number): number {
    const { model } = this
    const locked = this.lockedPlace.get(person * model.dates.length + date)
    if (locked !== undefined) return locked
    const unit = model.unitOf[person * model.dates.length + date]!
    const seat = unit < 0 ? -1 : this.seatOfUnit[unit]!
    return seat < 0 ? -1 : model.crewPlace[model.seatCrew[seat]!]!
  }

  get hasPairs(): boolean {
    return this.pairPartners.size > 0
  }

  isPaired(unit: number): boolean {
    return this.pairPartners.has(this.model.unitPerson[unit]!)
  }

  /** Weighted pair violations that a unit's person takes part in on its date, but for those with one of `without`. */
  pairViolation(unit: number, without: readonly number[] = []): number {
    const person = this.model.unitPerson[unit]!
    const partners = this.pairPartners.get(person)
    if (!partners) return 0
    const date = this.model.unitDate[unit]!
    const here = this.placeOf(person, date)
    if (here < 0) return 0
    let sum = 0
    for (const { other, weight, apart } of partners) {
      if (without.length > 0 && without.includes(this.model.unitOf[other * this.model.dates.length + date]!))
        continue
      const there = this.placeOf(other, date)
      if (there >= 0 && (apart ? there === here : there !== here)) sum += weight
    }
    return sum
  }

  /** Weighted pair violations that any of some units takes part in, each pair once. */
  pairViolationsOf(units: readonly number[]): number {
    let sum = 0
    for (const [i, unit] of units.entries()) {
      if (unit < 0 || units.indexOf(unit) !== i) continue
      sum += this.pairViolation(unit, units.slice(0, i))
    }
    return sum
  }

  violations(): number {
    let sum = 0
    for (let c = 0; c < this.model.crews.length; c++) sum += this.crewViolation(c)
    const { rules } = this.model.instance
    for (let d = 0; d < this.model.dates.length; d++)
      for (const [list, apart] of [
        [rules.keepApart, true],
        [rules.keepTogether, false],
      ] as const)
        for (const pair of list) {
          const x = this.placeOf(this.model.personIndex.get(pair.people[0])!, d)
          const y = this.placeOf(this.model.personIndex.get(pair.people[1])!, d)
          if (x >= 0 && y >= 0 && (apart ? x === y : x !== y)) sum += pair.weight
        }
    return sum
  }

  cost(): number {
    let sum = this.model.lockedCost
    for (let s = 0; s < this.model.seatCount; s++) {
      const g = this.model.seatGroup[s]!
      if (g < 0) continue
      if (this.first[s]! >= 0) sum += arcCostOf(this.model, g, this.first[s]!)
      if (this.second[s]! >= 0) sum += arcCostOf(this.model, g, this.second[s]!)
    }
    return sum
  }
}

const lookups = new WeakMap<
  Model,
  { unit: Int32Array; cost: Int32Array; kinds: Uint8Array; start: Int32Array }
>()

/** Arcs of each group sorted by unit, with their kinds as bits: for look-ups by bisection. O(arcs log) once. */
function lookupOf(model: Model) {
  let table = lookups.get(model)
  if (!table) {
    const total = model.arcUnit.length
    const start = new Int32Array(model.groupCount + 1)
    const unit = new Int32Array(total)
    const cost = new Int32Array(total)
    const kinds = new Uint8Array(total)
    let n = 0
    for (let g = 0; g < model.groupCount; g++) {
      const from = model.arcStart[g]!
      const order = new Float64Array(model.arcStart[g + 1]! - from)
      // Unit in the high part, arc offset in the low part: one numeric sort, no comparator calls.
      for (let i = 0; i < order.length; i++) order[i] = model.arcUnit[from + i]! * 4194304 + i
      order.sort()
      for (const key of order) {
        const a = from + (key % 4194304)
        const u = model.arcUnit[a]!
        if (n > start[g]! && unit[n - 1] === u) kinds[n - 1]! |= 1 << model.arcKind[a]!
        else {
          unit[n] = u
          cost[n] = model.arcCost[a]!
          kinds[n] = 1 << model.arcKind[a]!
          n++
        }
      }
      start[g + 1] = n
    }
    table = { unit, cost, kinds, start }
    lookups.set(model, table)
  }
  return table
}

function find(model: Model, group: number, unit: number): number {
  const t = lookupOf(model)
  let lo = t.start[group]!
  let hi = t.start[group + 1]! - 1
  while (lo <= hi) {
    const mid = (lo + hi) >> 1
    const u = t.unit[mid]!
    if (u === unit) return mid
    if (u < unit) lo = mid + 1
    else hi = mid - 1
  }
  return -1
}

/** Level-3 cost of an eligible pair in metres, or −1 where the pair isn't eligible for a seat of that kind
 *  (`kind` undefined: for any kind). */
export function arcCostOf(model: Model, group: number, unit: number, kind?: number): number {
  const at = find(model, group, unit)
  if (at < 0) return -1
  const t = lookupOf(model)
  if (kind !== undefined && (t.kinds[at]! & (1 << kind)) === 0) return -1
  return t.cost[at]!
}
