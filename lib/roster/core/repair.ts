/** Call-outs: whom to ring, in order, and a county-wide mend when many drop out at once.
 *
 *  One call-out: chains of at most three moves that end at somebody free: the free person takes the seat; or a person
 *  nearby takes it and the free person takes theirs; or one more in between. Near people are looked at first, a fixed
 *  number at each step, so a question costs the same in a county of any size. Options are ranked by violations added,
 *  then moves (each is a phone call and an upset person), then metres.
 *  Many: first the free people are assigned to the empty seats exactly (least cost), then chains of any length bring
 *  level 1 back to what is possible (Berge 1957: no chain left, no more seats), then exchanges around the seats that
 *  were hit lower violations and cost. */
import { seededRandom } from '@/lib/kernel/random'
import type { Seating } from '../schema'
import { AFTERNOON, halfName, MORNING, WHOLE } from './eligibility'
import { Exchanger } from './improve'
import { matchingProblem } from './level-one'
import type { Prepared } from './prepared'
import { seatingsOf } from './result'
import { arcCostOf, RosterState } from './state'

export interface RepairMove {
  personId: string
  /** Seat left, or null for somebody who was free. */
  fromSeatId: string | null
  toSeatId: string
}

export interface RepairOption {
  /** In the order to be made: the last one brings in the free person. */
  moves: RepairMove[]
  /** Weighted violations added (negative: mended) and metres added against the roster before the call-out. */
  violations: number
  metres: number
  /** People who would be moved from a seat they had: the disturbance. */
  disturbed: number
}

export interface SeatRepair {
  seatId: string
  half: 'full' | 'morning' | 'afternoon'
  options: RepairOption[]
}

const NEAR = [24, 8, 0]
const FREE_NEAR = 3

/** Options for each seat that a person holds (on one date, or all). The prepared roster is left as it was.
 *  @throws RangeError for an unknown person. */
export function repair(
  prepared: Prepared,
  callOut: { personId: string; date?: string },
  most = 10,
): SeatRepair[] {
  const { model, state, instance } = prepared
  const person = model.personIndex.get(callOut.personId)
  if (person === undefined) throw new RangeError(`no such person: "${callOut.personId}"`)
  const answers: SeatRepair[] = []
  for (let d = 0; d < model.dates.length; d++) {
    if (callOut.date !== undefined && model.dates[d] !== callOut.date) continue
    const unit = model.unitOf[person * model.dates.length + d]!
    const seat = unit < 0 ? -1 : state.seatOfUnit[unit]!
    if (seat < 0) continue
    const slot: 0 | 1 = state.first[seat] === unit ? 0 : 1
    const shared = state.second[seat]! >= 0
    const kind = shared ? (slot === 0 ? MORNING : AFTERNOON) : WHOLE
    answers.push({
      seatId: instance.seats[seat]!.id,
      half: halfName(shared ? kind : model.groupShift[model.seatGroup[seat]!]!),
      options: optionsFor(prepared, seat, slot, kind, unit, most),
    })
  }
  return answers
}

interface Step {
  seat: number
  slot: 0 | 1
  kind: number
  unit: number
  from: number
}

function optionsFor(
  prepared: Prepared,
  seat: number,
  slot: 0 | 1,
  kind: number,
  gone: number,
  most: number,
): RepairOption[] {
  const { model, state, instance } = prepared
  const options: RepairOption[] = []
  const lost = arcCostOf(model, model.seatGroup[seat]!, gone)
  const chain: Step[] = []
  const name = (u: number) => instance.people[model.unitPerson[u]!]!.id
  const crews: number[] = []
  const scoreNow = () => {
    let sum = 0
    for (const c of crews) sum += state.crewViolation(c)
    return sum + pairScore()
  }
  const pairScore = () => {
    if (!state.hasPairs) return 0
    let sum = state.pairViolation(gone)
    for (const s of chain) sum += state.pairViolation(s.unit)
    return sum
  }
  /** Violations and hard breach of each crew in the roster as it was, asked for once. */
  const crewsBefore = new Map<number, { violation: number; breach: number }>()
  const crewBefore = (c: number) => {
    let known = crewsBefore.get(c)
    if (!known) {
      known = { violation: state.crewViolation(c), breach: state.hardBreach(c) }
      crewsBefore.set(c, known)
    }
    return known
  }
  /** Judges the chain as it stands: every step applied, then undone. */
  const judge = () => {
    crews.length = 0
    for (const s of chain) {
      const c = model.seatCrew[s.seat]!
      if (!crews.includes(c)) crews.push(c)
    }
    let before = pairScore()
    let breachBefore = 0
    for (const c of crews) {
      before += crewBefore(c).violation
      breachBefore += crewBefore(c).breach
    }
    let metres = -lost
    for (const s of chain) {
      metres += arcCostOf(model, model.seatGroup[s.seat]!, s.unit)
      if (s.from >= 0) metres -= arcCostOf(model, model.seatGroup[s.from]!, s.unit)
    }
    const set = (s: number, at: 0 | 1, unit: number) => {
      const row = at === 0 ? state.first : state.second
      row[s] = unit
    }
    state.seatOfUnit[gone] = -1
    for (const s of chain) {
      set(s.seat, s.slot, s.unit)
      state.seatOfUnit[s.unit] = s.seat
    }
    const violations = scoreNow() - before
    let breach = 0
    for (const c of crews) breach += state.hardBreach(c)
    let holder = gone
    for (const s of chain) {
      set(s.seat, s.slot, holder)
      state.seatOfUnit[holder] = s.seat
      holder = s.unit
    }
    state.seatOfUnit[holder] = -1
    if (breach > breachBefore) return
    options.push({
      moves: chain.map((s) => ({
        personId: name(s.unit),
        fromSeatId: s.from < 0 ? null : instance.seats[s.from]!.id,
        toSeatId: instance.seats[s.seat]!.id,
      })),
      violations,
      metres,
      disturbed: chain.filter((s) => s.from >= 0).length,
    })
  }
  const go = (s: number, at: 0 | 1, want: number, depth: number) => {
    const g = model.seatGroup[s]!
    let free = 0
    let seated = 0
    const freeMost = depth === 0 ? 24 : FREE_NEAR
    // Deeper in a chain only the nearest are looked at.
    const last = Math.min(model.arcStart[g + 1]!, model.arcStart[g]! + (depth === 0 ? 4000 : 150))
    for (let a = model.arcStart[g]!; a < last; a++) {
      if (free >= freeMost && (seated >= NEAR[depth]! || depth === 2)) break
      const u = model.arcUnit[a]!
      if (model.arcKind[a] !== want || model.unitLocked[u] || u === gone) continue
      if (chain.some((step) => step.unit === u)) continue
      const from = state.seatOfUnit[u]!
      if (from < 0) {
        if (free++ >= freeMost) continue
        chain.push({ seat: s, slot: at, kind: want, unit: u, from: -1 })
        judge()
        chain.pop()
      } else if (depth < 2 && seated++ < NEAR[depth]!) {
        if (from === seat || chain.some((step) => step.seat === from)) continue
        const fromSlot: 0 | 1 = state.first[from] === u ? 0 : 1
        const fromKind = state.second[from]! < 0 ? WHOLE : fromSlot === 0 ? MORNING : AFTERNOON
        chain.push({ seat: s, slot: at, kind: want, unit: u, from })
        go(from, fromSlot, fromKind, depth + 1)
        chain.pop()
      }
    }
  }
  go(seat, slot, kind, 0)
  options.sort(
    (a, b) => a.violations - b.violations || a.moves.length - b.moves.length || a.metres - b.metres,
  )
  // Of chains that bring in the same person for the same violations only the first is of use.
  const seen = new Set<string>()
  return options
    .filter((o) => {
      const key = `${o.moves.at(-1)!.personId}|${o.violations}`
      if (seen.has(key)) return false
      seen.add(key)
      return true
    })
    .slice(0, most)
}

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
    for (const s of open) if (state.first[s]! < 0) fillByChain(prepared, state, s, hitSeats)
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

/** Shortest chain of moves from an empty seat to a free person, or to a seat of a later class, which goes empty. */
function fillByChain(prepared: Prepared, state: RosterState, start: number, hit: Set<number>): void {
  const { model } = prepared
  const via = new Map<number, number>()
  const queue = [start]
  const seen = new Set(queue)
  const priority = model.groupClass[model.seatGroup[start]!]!
  let end = -1
  let later = -1
  for (let head = 0; head < queue.length && end < 0; head++) {
    const s = queue[head]!
    const g = model.seatGroup[s]!
    for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
      const u = model.arcUnit[a]!
      if (model.arcKind[a] !== WHOLE || model.unitLocked[u] || via.has(u)) continue
      via.set(u, s)
      const holder = state.seatOfUnit[u]!
      if (holder < 0) {
        end = u
        break
      }
      if (state.second[holder]! >= 0 || seen.has(holder)) continue
      if (later < 0 && model.groupClass[model.seatGroup[holder]!]! > priority) later = u
      seen.add(holder)
      queue.push(holder)
    }
  }
  if (end < 0) end = later
  if (end < 0) return
  const steps: [number, number][] = []
  for (let u = end; ; ) {
    const seat = via.get(u)!
    steps.push([seat, u])
    if (seat === start) break
    u = state.first[seat]!
  }
  const before = steps.map(([seat]) => state.first[seat]!)
  const vacated = state.seatOfUnit[end]!
  if (vacated >= 0) state.put(vacated, 0, -1)
  for (const [seat, unit] of steps) {
    state.first[seat] = unit
    state.seatOfUnit[unit] = seat
  }
  if (steps.some(([seat]) => state.hardBreach(model.seatCrew[seat]!) > 0)) {
    for (const [, unit] of steps) state.seatOfUnit[unit] = -1
    steps.forEach(([seat], i) => {
      state.first[seat] = before[i]!
      if (before[i]! >= 0) state.seatOfUnit[before[i]!] = seat
    })
    if (vacated >= 0) state.put(vacated, 0, end)
    return
  }
  for (const [seat] of steps) hit.add(seat)
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
