/** Exchanges on typed arrays: moves that keep the filled seats of each class and lower `λ × violations + cost`.
 *
 *  A move gives a seat another person: a free one (replace), one who sits elsewhere and takes the old person's place
 *  in return (swap), or one whose own seat a free person then takes (chain of three). Acceptance by annealing at
 *  falling temperature; temperature 0 is plain descent. Violations are weighed by λ here only to steer: values are
 *  reported per level. O(crew size) a move. Deterministic for a seed. */
import type { Random } from '@/lib/kernel/random'
import { AFTERNOON, MORNING, WHOLE } from './eligibility'
import type { Model } from './model'
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
}

export class Exchanger {
  private readonly crewValue: Float64Array
  private readonly hard: boolean
  work = 0

  constructor(
    readonly model: Model,
    readonly state: RosterState,
  ) {
    this.crewValue = new Float64Array(model.crews.length)
    this.hard = model.instance.rules.balance?.mode === 'hard'
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

  /** Runs the exchanges; the state ends at the best roster met. Returns its score change (≤ 0). */
  run(o: ExchangeOptions): number {
    const { model, state } = this
    const seats =
      o.seats ??
      Int32Array.from(
        Array.from({ length: model.seatCount }, (_, s) => s).filter((s) => model.seatGroup[s]! >= 0),
      )
    if (seats.length === 0 || model.unitCount === 0) return 0
    for (let c = 0; c < model.crews.length; c++) this.crewValue[c] = this.crewScore(c, o)
    const pairsMatter = state.hasPairs
    let score = 0
    let best = 0
    const bestFirst = state.first.slice()
    const bestSecond = state.second.slice()
    let dirty = false
    const cooling = o.moves > 1 && o.hot > 0 ? (Math.max(o.cold, 1e-3) / o.hot) ** (1 / o.moves) : 1
    let temperature = o.hot
    const reach = o.neighbours ?? 24
    const changes: { seat: number; slot: 0 | 1; unit: number; old: number }[] = []
    const crews: number[] = []
    const tryMove = (): boolean => {
      // Cost change, then the crews', then the pairs'.
      let delta = 0
      for (const ch of changes) {
        const g = model.seatGroup[ch.seat]!
        if (ch.unit >= 0) {
          const c = arcCostOf(model, g, ch.unit, this.kindOf(ch.seat, ch.slot))
          if (c < 0) return false
          delta += c
        }
        if (ch.old >= 0) delta -= arcCostOf(model, g, ch.old)
      }
      const limit = temperature > 0 ? -temperature * Math.log(Math.max(1e-12, o.random.next())) : 0
      crews.length = 0
      for (const ch of changes) {
        const c = model.seatCrew[ch.seat]!
        if (!crews.includes(c)) crews.push(c)
      }
      // Even if every violation of these crews vanished the move would be refused: skip it.
      if (!pairsMatter) {
        let most = 0
        for (const c of crews) most += this.crewValue[c]!
        if (delta - most > limit) return false
      }
      let pairsBefore = 0
      if (pairsMatter) pairsBefore = this.pairScore(changes)
      for (const ch of changes) {
        const row = ch.slot === 0 ? state.first : state.second
        if (ch.old >= 0) state.seatOfUnit[ch.old] = -1
        row[ch.seat] = ch.unit
      }
      for (const ch of changes) if (ch.unit >= 0) state.seatOfUnit[ch.unit] = ch.seat
      for (const c of crews) delta += this.crewScore(c, o) - this.crewValue[c]!
      if (pairsMatter) delta += o.violationPrice * (this.pairScore(changes) - pairsBefore)
      if (delta <= limit && (delta < 0 || temperature > 0)) {
        for (const c of crews) this.crewValue[c] = this.crewScore(c, o)
        score += delta
        dirty = true
        return true
      }
      for (const ch of changes) if (ch.unit >= 0) state.seatOfUnit[ch.unit] = -1
      for (const ch of changes) {
        const row = ch.slot === 0 ? state.first : state.second
        row[ch.seat] = ch.old
        if (ch.old >= 0) state.seatOfUnit[ch.old] = ch.seat
      }
      return false
    }
    const save = () => {
      if (score < best - 1e-9 && dirty) {
        best = score
        bestFirst.set(state.first)
        bestSecond.set(state.second)
        dirty = false
      }
    }
    let lastSave = 0
    for (let move = 0; move < o.moves; move++) {
      if ((move & 4095) === 0 && o.aborted?.()) break
      temperature *= cooling
      const seat = seats[o.random.below(seats.length)]!
      const slot: 0 | 1 = state.second[seat]! >= 0 && o.random.next() < 0.5 ? 1 : 0
      const old = (slot === 0 ? state.first : state.second)[seat]!
      const g = model.seatGroup[seat]!
      const size = model.arcStart[g + 1]! - model.arcStart[g]!
      if (size === 0) continue
      this.work++
      if (old < 0) {
        this.shiftEmpty(seat, o, changes, tryMove)
        continue
      }
      // Near people are likelier: the square of a uniform number.
      const x = o.random.next()
      const a = model.arcStart[g]! + Math.floor(x * x * Math.min(size, o.random.next() < 0.9 ? reach : size))
      const unit = model.arcUnit[a]!
      if (unit === old || model.arcKind[a] !== this.kindOf(seat, slot) || model.unitLocked[unit]) continue
      const other = state.seatOfUnit[unit]!
      changes.length = 0
      if (other === seat) continue
      if (other < 0) {
        changes.push({ seat, slot, unit, old })
        tryMove()
      } else {
        const otherSlot: 0 | 1 = state.first[other] === unit ? 0 : 1
        changes.push({ seat, slot, unit, old }, { seat: other, slot: otherSlot, unit: old, old: unit })
        if (!tryMove()) {
          // The other seat takes a free person instead.
          const h = model.seatGroup[other]!
          const n = Math.min(reach, model.arcStart[h + 1]! - model.arcStart[h]!)
          const kind = this.kindOf(other, otherSlot)
          const from = o.random.below(Math.max(1, n))
          for (let i = 0; i < n; i++) {
            const b = model.arcStart[h]! + ((from + i) % n)
            const u = model.arcUnit[b]!
            if (state.seatOfUnit[u]! >= 0 || model.unitLocked[u] || model.arcKind[b] !== kind) continue
            changes.length = 0
            changes.push({ seat, slot, unit, old }, { seat: other, slot: otherSlot, unit: u, old: unit })
            tryMove()
            break
          }
        }
      }
      // Saving is a copy: rare while hot, certain at the end.
      if (score < best - 1e-9 && move - lastSave > seats.length) {
        save()
        lastSave = move
      }
    }
    save()
    if (score > best + 1e-9) {
      state.first.set(bestFirst)
      state.second.set(bestSecond)
      state.seatOfUnit.fill(-1)
      for (let s = 0; s < model.seatCount; s++) {
        if (state.first[s]! >= 0) state.seatOfUnit[state.first[s]!] = s
        if (state.second[s]! >= 0) state.seatOfUnit[state.second[s]!] = s
      }
    }
    return best
  }

  /** An empty seat takes the person of another seat of its class, which stays empty instead. */
  private shiftEmpty(
    seat: number,
    o: ExchangeOptions,
    changes: { seat: number; slot: 0 | 1; unit: number; old: number }[],
    tryMove: () => boolean,
  ): void {
    const { model, state } = this
    const g = model.seatGroup[seat]!
    const size = model.arcStart[g + 1]! - model.arcStart[g]!
    const a = model.arcStart[g]! + o.random.below(size)
    const unit = model.arcUnit[a]!
    if (model.arcKind[a] !== WHOLE || model.unitLocked[unit]) return
    const other = state.seatOfUnit[unit]!
    if (other < 0 || other === seat || state.second[other]! >= 0) return
    if (model.groupClass[model.seatGroup[other]!] !== model.groupClass[g]) return
    changes.length = 0
    changes.push({ seat: other, slot: 0, unit: -1, old: unit }, { seat, slot: 0, unit, old: -1 })
    tryMove()
  }

  private pairScore(changes: { unit: number; old: number }[]): number {
    let sum = 0
    const seen = new Set<number>()
    for (const ch of changes)
      for (const u of [ch.unit, ch.old])
        if (u >= 0 && !seen.has(u)) {
          seen.add(u)
          sum += this.state.pairViolation(u)
        }
    return sum
  }
}
