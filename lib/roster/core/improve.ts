/** Exchanges on typed arrays: moves that keep the filled seats of each class and lower `λ × violations + cost`.
 *
 *  A move gives a seat another person: a free one (replace), one who sits elsewhere and takes the old person's place
 *  in return (swap), or one whose own seat a free person then takes (chain of three). Acceptance by annealing at
 *  falling temperature; temperature 0 is plain descent. Violations are weighed by λ here only to steer: values are
 *  reported per level. O(crew size) a move. Deterministic for a seed. */
import type { Random } from '@/lib/kernel/random'
import { AFTERNOON, MORNING, WHOLE } from './eligibility'
import type { Model } from './model'
import { regionsOf } from './regions'
import { arcCostOf, type RosterState } from './state'

export interface ExchangeOptions {
  /** Metres that one violation weighs. */
  violationPrice: number
  /** Metres that one unit of hard imbalance weighs. */
  hardPrice: number
  moves: number
  /** Metres at the first and the last move. */
  hot: number
  cold: number
  random: Random
  /** Seats to try (all free ones when absent). */
  seats?: Int32Array
  neighbours?: number
  aborted?: () => boolean
  /** Told now and then, with the share done. */
  onProgress?: (share: number) => void
  /** A limit that moves have to keep beside the score. */
  watch?: ChangeWatch
  /** An empty seat may also take a free person, another seat of its class being emptied. */
  refill?: boolean
}

/** `b` is null where one seat changes alone. */
export interface ChangeWatch {
  allows(a: SeatChange, b: SeatChange | null): boolean
  made(a: SeatChange, b: SeatChange | null): void
}

/** `old` leaves a seat and `unit` comes (−1: nobody). */
export interface SeatChange {
  readonly seat: number
  readonly unit: number
  readonly old: number
}

/** Seats in a row that are tried together, and how often each before the next: what they touch stays near the processor. */
const NEARBY = 256
const SWEEP = 4

/** Free seats, those of neighbouring crews next to each other. */
function byNeighbourhood(model: Model): Int32Array {
  const crews = regionsOf(model, 1).flat()
  return Int32Array.from(crews.flatMap((c) => model.crews[c]!.groups.flatMap((g) => model.groupSeats[g]!)))
}

/** One seat's slot that takes another person, or nobody (−1). */
class Change {
  seat = 0
  slot: 0 | 1 = 0
  unit = -1
  old = -1
  /** Metres of the new person there. */
  cost = 0
  crew = 0
}

export class Exchanger {
  private readonly crewValue: Float64Array
  private readonly hard: boolean
  /** Metres of whoever is in each seat's first and second slot. */
  private readonly paid: [Int32Array, Int32Array]
  private readonly paired: Uint8Array
  private readonly a = new Change()
  private readonly b = new Change()
  private temperature = 0
  private score = 0
  private dirty = false
  work = 0

  constructor(
    readonly model: Model,
    readonly state: RosterState,
  ) {
    this.crewValue = new Float64Array(model.crews.length)
    this.hard = model.instance.rules.balance?.mode === 'hard'
    this.paid = [new Int32Array(model.seatCount), new Int32Array(model.seatCount)]
    this.paired = Uint8Array.from({ length: model.unitCount }, (_, u) => (state.isPaired(u) ? 1 : 0))
  }

  private crewScore(crew: number, o: ExchangeOptions): number {
    let value = o.violationPrice * this.state.crewViolation(crew)
    if (this.hard) value += o.hardPrice * this.state.hardBreach(crew)
    return value
  }

  private kindOf(seat: number, slot: 0 | 1): number {
    if (this.model.groupShift[this.model.seatGroup[seat]!] !== WHOLE) return WHOLE
    if (this.state.second[seat]! < 0) return WHOLE
    return slot === 0 ? MORNING : AFTERNOON
  }

  private enter(o: ExchangeOptions): void {
    const { model, state } = this
    for (let c = 0; c < model.crews.length; c++) this.crewValue[c] = this.crewScore(c, o)
    for (let s = 0; s < model.seatCount; s++)
      for (const slot of [0, 1] as const) {
        const unit = (slot === 0 ? state.first : state.second)[s]!
        this.paid[slot][s] = unit < 0 ? 0 : arcCostOf(model, model.seatGroup[s]!, unit)
      }
    this.score = 0
    this.dirty = false
    this.temperature = o.hot
  }

  private set(change: Change, seat: number, slot: 0 | 1, unit: number, cost: number): void {
    change.seat = seat
    change.slot = slot
    change.unit = unit
    change.cost = cost
    change.old = (slot === 0 ? this.state.first : this.state.second)[seat]!
    change.crew = this.model.seatCrew[seat]!
  }

  /** Makes the change in `a`, and with `both` the one in `b`, or leaves everything as it was. */
  private tryMove(both: boolean, o: ExchangeOptions): boolean {
    const { a, b, state, crewValue } = this
    let delta = a.cost - this.paid[a.slot][a.seat]!
    if (both) delta += b.cost - this.paid[b.slot][b.seat]!
    const limit = this.temperature > 0 ? -this.temperature * Math.log(Math.max(1e-12, o.random.next())) : 0
    const other = both && b.crew !== a.crew
    const before = crewValue[a.crew]! + (other ? crewValue[b.crew]! : 0)
    const pairs = this.isPaired(a) || (both && this.isPaired(b))
    // Even if every violation of these crews vanished the move would be refused: skip it.
    if (!pairs && delta - before > limit) return false
    if (o.watch && !o.watch.allows(a, both ? b : null)) return false
    if (pairs) delta -= o.violationPrice * this.pairScore(both)
    this.apply(both)
    const valueA = this.crewScore(a.crew, o)
    const valueB = other ? this.crewScore(b.crew, o) : 0
    delta += valueA + valueB - before
    if (pairs) delta += o.violationPrice * this.pairScore(both)
    if (delta <= limit && (delta < 0 || this.temperature > 0)) {
      crewValue[a.crew] = valueA
      if (other) crewValue[b.crew] = valueB
      this.paid[a.slot][a.seat] = a.cost
      if (both) this.paid[b.slot][b.seat] = b.cost
      this.score += delta
      this.dirty = true
      o.watch?.made(a, both ? b : null)
      return true
    }
    this.undo(a, state)
    if (both) this.undo(b, state)
    if (a.old >= 0) state.seatOfUnit[a.old] = a.seat
    if (both && b.old >= 0) state.seatOfUnit[b.old] = b.seat
    return false
  }

  private isPaired(change: Change): boolean {
    return (
      (change.unit >= 0 && this.paired[change.unit] === 1) ||
      (change.old >= 0 && this.paired[change.old] === 1)
    )
  }

  private apply(both: boolean): void {
    const { a, b, state } = this
    if (a.old >= 0) state.seatOfUnit[a.old] = -1
    if (both && b.old >= 0) state.seatOfUnit[b.old] = -1
    ;(a.slot === 0 ? state.first : state.second)[a.seat] = a.unit
    if (both) (b.slot === 0 ? state.first : state.second)[b.seat] = b.unit
    if (a.unit >= 0) state.seatOfUnit[a.unit] = a.seat
    if (both && b.unit >= 0) state.seatOfUnit[b.unit] = b.seat
  }

  private undo(change: Change, state: RosterState): void {
    if (change.unit >= 0) state.seatOfUnit[change.unit] = -1
    ;(change.slot === 0 ? state.first : state.second)[change.seat] = change.old
  }

  /** Runs the exchanges; the state ends at the best roster met. Returns its score change (≤ 0). */
  run(o: ExchangeOptions): number {
    const { model, state } = this
    const seats = o.seats ?? byNeighbourhood(model)
    if (seats.length === 0 || model.unitCount === 0) return 0
    this.enter(o)
    let best = 0
    const bestFirst = state.first.slice()
    const bestSecond = state.second.slice()
    const cooling = o.moves > 1 && o.hot > 0 ? (Math.max(o.cold, 1e-3) / o.hot) ** (1 / o.moves) : 1
    const save = () => {
      if (this.score >= best - 1e-9 || !this.dirty) return
      best = this.score
      bestFirst.set(state.first)
      bestSecond.set(state.second)
      this.dirty = false
    }
    let lastSave = 0
    let from = 0
    const nearby = Math.min(NEARBY, seats.length)
    for (let move = 0; move < o.moves; move++) {
      if ((move & 4095) === 0 && o.aborted?.()) break
      if ((move & 0xfffff) === 0) o.onProgress?.(move / o.moves)
      this.temperature *= cooling
      if (move % (SWEEP * nearby) === 0) from = (from + nearby) % seats.length
      const seat = seats[(from + o.random.below(nearby)) % seats.length]!
      const slot: 0 | 1 = state.second[seat]! >= 0 && o.random.next() < 0.5 ? 1 : 0
      this.move(seat, slot, o)
      // Saving is a copy: rare while hot, certain at the end.
      if (this.score < best - 1e-9 && move - lastSave > seats.length) {
        save()
        lastSave = move
      }
    }
    save()
    if (this.score > best + 1e-9) this.goBack(bestFirst, bestSecond)
    return best
  }

  private goBack(first: Int32Array, second: Int32Array): void {
    const { state, model } = this
    state.first.set(first)
    state.second.set(second)
    state.seatOfUnit.fill(-1)
    for (let s = 0; s < model.seatCount; s++) {
      if (first[s]! >= 0) state.seatOfUnit[first[s]!] = s
      if (second[s]! >= 0) state.seatOfUnit[second[s]!] = s
    }
  }

  /** One proposal for a seat's slot. */
  private move(seat: number, slot: 0 | 1, o: ExchangeOptions): void {
    const { model, state } = this
    const old = (slot === 0 ? state.first : state.second)[seat]!
    const g = model.seatGroup[seat]!
    const from = model.arcStart[g]!
    const size = model.arcStart[g + 1]! - from
    if (size === 0) return
    this.work++
    if (old < 0) {
      this.shiftEmpty(seat, o)
      return
    }
    const reach = o.neighbours ?? 24
    // Near people are likelier: the square of a uniform number.
    const x = o.random.next()
    const at = from + Math.floor(x * x * Math.min(size, o.random.next() < 0.9 ? reach : size))
    const unit = model.arcUnit[at]!
    if (unit === old || model.arcKind[at] !== this.kindOf(seat, slot) || model.unitLocked[unit]) return
    const other = state.seatOfUnit[unit]!
    if (other === seat) return
    this.set(this.a, seat, slot, unit, model.arcCost[at]!)
    if (other < 0) {
      this.tryMove(false, o)
      return
    }
    const otherSlot: 0 | 1 = state.first[other] === unit ? 0 : 1
    const kind = this.kindOf(other, otherSlot)
    const back = arcCostOf(model, model.seatGroup[other]!, old, kind)
    if (back >= 0) {
      this.set(this.b, other, otherSlot, old, back)
      if (this.tryMove(true, o)) return
    }
    // The other seat takes a free person instead.
    const h = model.seatGroup[other]!
    const n = Math.min(reach, model.arcStart[h + 1]! - model.arcStart[h]!)
    const start = o.random.below(Math.max(1, n))
    for (let i = 0; i < n; i++) {
      const b = model.arcStart[h]! + ((start + i) % n)
      const free = model.arcUnit[b]!
      if (state.seatOfUnit[free]! >= 0 || model.unitLocked[free] || model.arcKind[b] !== kind) continue
      this.set(this.b, other, otherSlot, free, model.arcCost[b]!)
      this.tryMove(true, o)
      return
    }
  }

  /** An empty seat takes the person of another seat of its class, which stays empty instead. */
  private shiftEmpty(seat: number, o: ExchangeOptions): void {
    const { model, state } = this
    const g = model.seatGroup[seat]!
    const at = model.arcStart[g]! + o.random.below(model.arcStart[g + 1]! - model.arcStart[g]!)
    const unit = model.arcUnit[at]!
    if (model.arcKind[at] !== WHOLE || model.unitLocked[unit]) return
    const held = state.seatOfUnit[unit]!
    const other = held < 0 && o.refill ? o.random.below(model.seatCount) : held
    if (other < 0 || other === seat || state.first[other]! < 0 || state.second[other]! >= 0) return
    if (model.groupClass[model.seatGroup[other]!] !== model.groupClass[g]) return
    this.set(this.a, other, 0, -1, 0)
    this.set(this.b, seat, 0, unit, model.arcCost[at]!)
    this.tryMove(true, o)
  }

  /** Weighted pair violations of everybody in the changes, each pair once. */
  private pairScore(both: boolean): number {
    const { a, b } = this
    return this.state.pairViolationsOf(both ? [a.unit, a.old, b.unit, b.old] : [a.unit, a.old])
  }
}
