/** A call-out: whom to ring, in order (many at once: storm.ts).
 *
 *  Chains of at most three moves that end at somebody free: the free person takes the seat; or a person
 *  nearby takes it and the free person takes theirs; or one more in between. Where people are short, chains that end with
 *  somebody from a seat of a later class, which then stays empty. Near people are looked at first, a fixed
 *  number at each step, so a question costs the same in a county of any size. Options that leave no seat empty come first,
 *  then those that leave one of the last class; each by violations added, then moves (each is a phone call and an upset
 *  person), then metres. */
import { AFTERNOON, halfName, MORNING, WHOLE } from './eligibility'
import type { Prepared } from './prepared'
import { arcCostOf } from './state'

export interface RepairMove {
  personId: string
  /** Seat left, or null for somebody who was free. */
  fromSeatId: string | null
  toSeatId: string
}

export interface RepairOption {
  /** In the order to be made: the last one brings in the free person, or leaves `leavesEmpty`. */
  moves: RepairMove[]
  /** A seat of a later class that the last move leaves empty; null: none. */
  leavesEmpty: string | null
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
/** People of later classes looked at for each seat. */
const LATER_NEAR = 3

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
  const options: (RepairOption & { emptied: number })[] = []
  const classOf = (s: number) => model.groupClass[model.seatGroup[s]!]!
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
    return state.pairViolationsOf([gone, ...chain.map((s) => s.unit)])
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
    const emptied = chain.at(-1)!.from
    for (const s of [...chain.map((step) => step.seat), ...(emptied >= 0 ? [emptied] : [])]) {
      const c = model.seatCrew[s]!
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
    if (emptied >= 0) state.first[emptied] = -1
    const violations = scoreNow() - before
    let breach = 0
    for (const c of crews) breach += state.hardBreach(c)
    let holder = gone
    for (const s of chain) {
      set(s.seat, s.slot, holder)
      state.seatOfUnit[holder] = s.seat
      holder = s.unit
    }
    state.seatOfUnit[holder] = emptied
    if (emptied >= 0) state.first[emptied] = holder
    if (breach > breachBefore) return
    options.push({
      moves: chain.map((s) => ({
        personId: name(s.unit),
        fromSeatId: s.from < 0 ? null : instance.seats[s.from]!.id,
        toSeatId: instance.seats[s.seat]!.id,
      })),
      leavesEmpty: emptied < 0 ? null : instance.seats[emptied]!.id,
      emptied: emptied < 0 ? Number.POSITIVE_INFINITY : classOf(emptied),
      violations,
      metres,
      disturbed: chain.filter((s) => s.from >= 0).length,
    })
  }
  const go = (s: number, at: 0 | 1, want: number, depth: number) => {
    const g = model.seatGroup[s]!
    let free = 0
    let seated = 0
    let later = 0
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
        continue
      }
      if (from === seat || chain.some((step) => step.seat === from)) continue
      if (state.second[from]! < 0 && classOf(from) > classOf(seat) && later++ < LATER_NEAR) {
        chain.push({ seat: s, slot: at, kind: want, unit: u, from })
        judge()
        chain.pop()
      }
      if (depth < 2 && seated++ < NEAR[depth]!) {
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
    (a, b) =>
      byEmptied(a, b) ||
      a.violations - b.violations ||
      a.moves.length - b.moves.length ||
      a.metres - b.metres,
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
    .map(({ emptied, ...option }) => option)
}

/** Nothing emptied first, then the later class. */
const byEmptied = (a: { emptied: number }, b: { emptied: number }): number =>
  a.emptied === b.emptied ? 0 : a.emptied > b.emptied ? -1 : 1
