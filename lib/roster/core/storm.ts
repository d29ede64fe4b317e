/** A county-wide mend when many call out at once.
 *
 *  First the free people are assigned to the empty seats exactly (least cost); then chains of any length bring level 1
 *  back to what is possible: each open seat, first classes first, takes a free person over the shortest chain, or the
 *  person of the last class that chains reach, whose seat goes empty (Berge 1957; Edmonds 1971: exact where no seat is
 *  shared and no balance is hard). Then exchanges around the seats that were hit lower violations and cost. */
import { seededRandom } from '@/lib/kernel/random'
import type { Seating } from '../schema'
import { WHOLE } from './eligibility'
import { Exchanger } from './improve'
import { matchingProblem } from './level-one'
import type { Model } from './model'
import type { Prepared } from './prepared'
import { seatingsOf } from './result'
import { RosterState } from './state'

export interface StormRepair {
  seatings: Seating[]
  empty: string[]
  /** Everybody whose seat differs from before, called-out people aside. */
  moves: { personId: string; fromSeatId: string | null; toSeatId: string | null }[]
  filled: number[]
  violations: number
  cost: number
}

/** Mends a roster after many call-outs. Locked people who call out leave their seat empty only if the lock is taken
 *  off first: pass an instance without it. The prepared roster is left as it was. O(arcs reached by chains). */
export function repairMany(
  prepared: Prepared,
  personIds: readonly string[],
  options: { seed?: number; exchangesPerSeat?: number } = {},
): StormRepair {
  const { model } = prepared
  const state = new RosterState(model)
  state.copyFrom(prepared.state)
  const banned: number[] = []
  const hitSeats = new Set<number>()
  try {
    for (const id of personIds) {
      const person = model.personIndex.get(id)
      if (person === undefined) throw new RangeError(`no such person: "${id}"`)
      for (let d = 0; d < model.dates.length; d++) {
        const unit = model.unitOf[person * model.dates.length + d]!
        if (unit < 0 || model.unitLocked[unit]) continue
        const seat = state.seatOfUnit[unit]!
        if (seat >= 0) {
          hitSeats.add(seat)
          // Half a day left over fills no seat: its other half is free for others too.
          state.put(seat, 1, -1)
          state.put(seat, 0, -1)
        }
        model.unitLocked[unit] = 1
        banned.push(unit)
      }
    }
    const open: number[] = []
    for (let s = 0; s < model.seatCount; s++)
      if (model.seatGroup[s]! >= 0 && state.first[s]! < 0) open.push(s)
    open.sort(
      (a, b) => model.groupClass[model.seatGroup[a]!]! - model.groupClass[model.seatGroup[b]!]! || a - b,
    )
    fillFromFree(prepared, state, open)
    const chains = new Chains(state)
    for (const s of open) if (state.first[s]! < 0) for (const seat of chains.fill(s)) hitSeats.add(seat)
    const touched = new Set<number>()
    for (const s of hitSeats)
      for (const g of model.crews[model.seatCrew[s]!]!.groups)
        for (const t of model.groupSeats[g]!) touched.add(t)
    const seats = Int32Array.from([...touched].sort((a, b) => a - b))
    new Exchanger(model, state).run({
      violationPrice: 200_000,
      hardPrice: 50_000_000,
      moves: seats.length * (options.exchangesPerSeat ?? 150),
      hot: 300,
      cold: 10,
      random: seededRandom(options.seed ?? 1),
      seats,
    })
    return report(prepared, state)
  } finally {
    for (const unit of banned) model.unitLocked[unit] = 0
  }
}

/** Least-cost assignment of free people to open seats, in class order; a seat that finds nobody is passed over. */
function fillFromFree(prepared: Prepared, state: RosterState, open: number[]): void {
  const { model } = prepared
  const banned = model.unitLocked.slice()
  for (let u = 0; u < model.unitCount; u++) if (state.seatOfUnit[u]! >= 0) banned[u] = 1
  const problem = matchingProblem(model, Int32Array.from(open), 1 << WHOLE, banned)
  for (let r = 0; r < open.length; r++) problem.insert(r)
  for (let r = 0; r < open.length; r++) {
    const unit = problem.columnOf[r]!
    if (unit < 0) continue
    state.put(open[r]!, 0, unit)
    if (state.hardBreach(model.seatCrew[open[r]!]!) > 0) state.put(open[r]!, 0, -1)
  }
}

/** Chains of moves to open seats. Seats of a group share their arcs, so groups are looked at once; chains only permute who
 *  is seated, so a group that once led to nobody free, or to no seat of a later class, is never searched for it again. */
class Chains {
  private readonly model: Model
  private readonly noFree: Uint8Array
  private readonly dead: Uint8Array
  private readonly scannedAt: Int32Array
  private readonly reachedAt: Int32Array
  /** Unit → the seat that it could take. */
  private readonly via: Int32Array
  private readonly lastClass: number
  private stamp = 0

  constructor(private readonly state: RosterState) {
    const { model } = state
    this.model = model
    this.noFree = new Uint8Array(model.groupCount)
    this.dead = new Uint8Array(model.groupCount)
    this.scannedAt = new Int32Array(model.groupCount)
    this.reachedAt = new Int32Array(model.unitCount)
    this.via = new Int32Array(model.unitCount)
    this.lastClass = model.classes.length - 1
  }

  /** Fills a seat along a chain; the seats of the chain. Seats come in class order. */
  fill(start: number): number[] {
    const end = this.endOf(start)
    if (end < 0) return []
    const { state, via } = this
    const steps: [seat: number, unit: number][] = []
    for (let unit = end; ; unit = state.first[steps.at(-1)![0]]!) {
      steps.push([via[unit]!, unit])
      if (via[unit] === start) break
    }
    return this.apply(steps) ? steps.map(([seat]) => seat) : []
  }

  /** Who ends the best chain from a seat: somebody free, else whoever sits in the last class reached; −1: nobody. */
  private endOf(start: number): number {
    const { model, state, noFree, dead, scannedAt, reachedAt, via } = this
    const stamp = ++this.stamp
    const classOf = (seat: number) => model.groupClass[model.seatGroup[seat]!]!
    const onlySeated = noFree[model.seatGroup[start]!] === 1
    const queue = [start]
    const groups: number[] = []
    let later = -1
    let laterClass = classOf(start)
    for (let head = 0; head < queue.length; head++) {
      const seat = queue[head]!
      const g = model.seatGroup[seat]!
      if (scannedAt[g] === stamp || dead[g]) continue
      scannedAt[g] = stamp
      groups.push(g)
      for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
        const unit = model.arcUnit[a]!
        if (model.arcKind[a] !== WHOLE || model.unitLocked[unit] || reachedAt[unit] === stamp) continue
        reachedAt[unit] = stamp
        via[unit] = seat
        const holder = state.seatOfUnit[unit]!
        if (holder < 0) return unit
        if (state.second[holder]! >= 0) continue
        if (classOf(holder) > laterClass) {
          later = unit
          laterClass = classOf(holder)
          if (onlySeated && laterClass === this.lastClass) return later
        }
        queue.push(holder)
      }
    }
    for (const g of groups) {
      noFree[g] = 1
      if (later < 0) dead[g] = 1
    }
    return later
  }

  /** Moves each unit to its seat, unless that breaks a hard balance. */
  private apply(steps: [seat: number, unit: number][]): boolean {
    const { model, state } = this
    const before = steps.map(([, unit]) => state.seatOfUnit[unit]!)
    const place = (seats: (i: number) => number) => {
      for (const [seat, unit] of steps) {
        state.first[seat] = -1
        if (state.seatOfUnit[unit]! >= 0) state.first[state.seatOfUnit[unit]!] = -1
      }
      steps.forEach(([, unit], i) => {
        state.seatOfUnit[unit] = seats(i)
        if (seats(i) >= 0) state.first[seats(i)] = unit
      })
    }
    place((i) => steps[i]![0])
    if (steps.every(([seat]) => state.hardBreach(model.seatCrew[seat]!) === 0)) return true
    place((i) => before[i]!)
    return false
  }
}

function report(prepared: Prepared, state: RosterState): StormRepair {
  const { model, instance } = prepared
  const name = (u: number) => instance.people[model.unitPerson[u]!]!.id
  const moves: StormRepair['moves'] = []
  for (let u = 0; u < model.unitCount; u++) {
    const before = prepared.state.seatOfUnit[u]!
    const after = state.seatOfUnit[u]!
    if (before === after || model.unitLocked[u]) continue
    const id = (s: number) => (s < 0 ? null : instance.seats[s]!.id)
    moves.push({ personId: name(u), fromSeatId: id(before), toSeatId: id(after) })
  }
  return {
    ...seatingsOf(model, state),
    moves,
    filled: state.filledByClass(),
    violations: state.violations(),
    cost: state.cost(),
  }
}
