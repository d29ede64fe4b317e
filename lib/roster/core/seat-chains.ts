/** Shortest chains of changes on a roster: who sits elsewhere takes the empty seat, somebody else takes theirs, and so on.
 *  Whole seats only. O(arcs) a chain. */
import { WHOLE } from './eligibility'
import type { RosterState } from './state'

/** How a group was reached: the person of one of its seats may go to a seat of another group. */
interface Step {
  group: number
  unit: number
  seat: number
}

export class Chains {
  /** `may`: may the unit take a seat of the group? */
  constructor(
    private readonly state: RosterState,
    private readonly may: (group: number, unit: number) => boolean,
  ) {}

  /** Fills an empty seat; false, and nothing changed, where no chain leads to somebody who is free. */
  fill(seat: number): boolean {
    const { via, end } = this.search(seat)
    if (!end) return false
    this.move(seat, via, end.group, end.unit)
    return true
  }

  /** Fills an empty seat at the cost of the seat of the last class that a chain reaches. That seat; the one given, and
   *  nothing changed, where none is of a later class. */
  leaveLast(seat: number): number {
    const { model } = this.state
    const { via } = this.search(seat)
    let last = model.seatGroup[seat]!
    for (const g of via.keys()) if (model.groupClass[g]! > model.groupClass[last]!) last = g
    const step = via.get(last)
    if (!step) return seat
    this.state.put(step.seat, 0, -1)
    this.move(seat, via, step.group, step.unit)
    return step.seat
  }

  /** Fills some other empty seat of a seat's class. */
  fillAnother(seat: number): boolean {
    const { model, first } = this.state
    const classOf = (s: number) => model.groupClass[model.seatGroup[s]!]
    for (let s = 0; s < model.seatCount; s++)
      if (
        s !== seat &&
        model.seatGroup[s]! >= 0 &&
        first[s]! < 0 &&
        classOf(s) === classOf(seat) &&
        this.fill(s)
      )
        return true
    return false
  }

  private search(seat: number): { via: Map<number, Step>; end: { group: number; unit: number } | null } {
    const { model, seatOfUnit } = this.state
    const start = model.seatGroup[seat]!
    const via = new Map<number, Step>()
    const queue = [start]
    for (const group of queue)
      for (let a = model.arcStart[group]!; a < model.arcStart[group + 1]!; a++) {
        const unit = model.arcUnit[a]!
        if (model.arcKind[a] !== WHOLE || model.unitLocked[unit] || !this.may(group, unit)) continue
        const held = seatOfUnit[unit]!
        if (held < 0) return { via, end: { group, unit } }
        const other = model.seatGroup[held]!
        if (other === start || via.has(other)) continue
        via.set(other, { group, unit, seat: held })
        queue.push(other)
      }
    return { via, end: null }
  }

  /** Somebody comes to the seat left in a group, whose person goes on, back to the first seat. */
  private move(seat: number, via: Map<number, Step>, group: number, unit: number): void {
    let comer = unit
    for (let step = via.get(group); step; step = via.get(step.group)) {
      this.state.put(step.seat, 0, comer)
      comer = step.unit
    }
    this.state.put(seat, 0, comer)
  }
}
