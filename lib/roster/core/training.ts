/** What to train next: the fewest (person, certificate) trainings that fill the most seats by priority.
 *
 *  Method: every person is given, on paper, each certificate that seats ask for; an arc that would need training costs
 *  one training first and its metres second (both whole, kept apart by a factor above any sum of metres, exact in
 *  doubles). Seats filled today go in first, then the empty ones by priority along cheapest chains (assign.ts): the
 *  result uses the fewest trainings among all rosters that fill those seats. With a limit n the chains stop when
 *  the next seat would need more than n. Each entry's effect is checked by taking it away and looking for another
 *  chain; the whole plan by solving level 1 of the instance again with the certificates added.
 *  Limits: a person trained once for seats on several dates is counted once but planned date by date; shared seats
 *  are left as they are; violations and a hard balance aren't looked at. */
import type { CivilDate } from '@/lib/kernel/dates'
import { holdsOn } from '@/lib/kernel/spans'
import type { RosterInstance, RosterPerson, Seating } from '../schema'
import { Assignment } from './assign'
import { allFrom, Components } from './components'
import { WHOLE } from './eligibility'
import { freeSeatRows, solveLevelOne } from './level-one'
import { compileModel, type Model } from './model'

export interface TrainingOptions {
  /** At most so many trainings. Absent: as many as close the shortage that training can close. */
  places?: number
  /** Certificates that can be taught in time. Absent: every one that seats ask for. */
  certificates?: string[]
  /** May this person be asked to train for this certificate? Absent: everybody not excluded. */
  canTrain?: (person: RosterPerson, certificate: string) => boolean
  /** The training must count on the seats' dates; the span added on paper is [achievedBy, no end). */
  achievedBy?: string
}

export interface TrainingEntry {
  personId: string
  certificate: string
  /** The seat that the person would take, and the empty seat that the chain fills in the end. */
  seatId: string
  /** Seats that go empty again without this entry (priority class of each): the entry's effect, checked. */
  fills: { seatId: string; class: string }[]
}

export interface TrainingPlan {
  entries: TrainingEntry[]
  /** Filled seats of each class: of the roster as it is; by solving level 1 again with the plan's certificates. */
  before: number[]
  after: number[]
  classes: string[]
  /** Seats that stay empty even with everybody trained. */
  beyondTraining: string[]
  /** True where the second solve reached at least what the plan promised. */
  verified: boolean
}

const TRAINING = 2 ** 32

/** @throws RangeError as `compileModel` does. O(chains × arcs). */
export function trainingPlan(
  instance: RosterInstance,
  roster: { seatings: readonly Seating[] },
  options: TrainingOptions = {},
): TrainingPlan {
  const wanted = new Set(
    options.certificates ?? instance.seats.flatMap((s) => (s.certificate === null ? [] : [s.certificate])),
  )
  const from = options.achievedBy ?? '0000-01-01'
  const seatById = new Map(instance.seats.map((s) => [s.id, s]))
  // Shared seats stay as they are: locked for this calculation.
  const lockedSeats = new Set(instance.locks.map((l) => l.seatId))
  const shared = roster.seatings.filter(
    (s) => !lockedSeats.has(s.seatId) && s.half !== 'full' && seatById.get(s.seatId)?.shift === 'full',
  )
  const base: RosterInstance = { ...instance, locks: [...instance.locks, ...shared] }
  const trained: RosterInstance = {
    ...base,
    people: base.people.map((p) => ({
      ...p,
      certificates: [
        ...p.certificates,
        ...[...wanted]
          .filter((key) => options.canTrain?.(p, key) ?? true)
          .map((key) => ({ key, spans: [{ from: from as never, until: null }] })),
      ],
    })),
  }
  const model = compileModel(trained)
  const holdersNow = holderTables(base.people)
  const certificates = [...new Set(instance.seats.flatMap((s) => s.certificate ?? []))]
  const certificateIndex = new Map(certificates.map((key, i) => [key, i]))
  /** A training as one number. */
  const trainingKey = (person: number, certificate: string) =>
    person * certificates.length + certificateIndex.get(certificate)!
  // Arcs again, with trainings as the first cost, sorted by it.
  const total = model.arcUnit.length
  const column = new Int32Array(total)
  const cost = new Float64Array(total)
  const kind = new Uint8Array(total)
  /** Where the arcs of a group that need training begin. */
  const trainedFrom = model.arcStart.slice()
  for (let g = 0; g < model.groupCount; g++) {
    const seat = trained.seats[model.groupSeats[g]![0]!]!
    let at = model.arcStart[g]!
    const holds = holdersNow(seat.certificate, seat.date)
    for (const pass of [false, true])
      for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
        const needs = !holds[model.unitPerson[model.arcUnit[a]!]!]
        if (needs !== pass) continue
        if (!needs) trainedFrom[g] = at + 1
        column[at] = model.arcUnit[a]!
        cost[at] = model.arcCost[a]! + (needs ? TRAINING : 0)
        kind[at] = model.arcKind[a]!
        at++
      }
  }
  const seats = freeSeatRows(model)
  const rowOfSeat = new Map([...seats].map((s, r) => [s, r]))
  const problem = new Assignment(
    { start: model.arcStart, column, cost, kind },
    model.unitCount,
    Int32Array.from(seats, (s) => model.seatGroup[s]!),
    new Uint8Array(seats.length).fill(1 << WHOLE),
    Int32Array.from(seats, (s) => model.groupClass[model.seatGroup[s]!]!),
    new Uint8Array(seats.length).fill(7),
    new Int32Array(seats.length),
    model.unitParty,
    new Int32Array(model.unitCount),
    model.unitLocked.slice(),
    model.classes.length,
  )
  const lockKeys = new Set(instance.locks.map((l) => `${l.seatId}|${l.personId}`))
  const filledNow = new Set(
    roster.seatings.filter((s) => !lockKeys.has(`${s.seatId}|${s.personId}`)).map((s) => s.seatId),
  )
  const first: number[] = []
  const open: number[] = []
  for (const s of seats)
    if (filledNow.has(instance.seats[s]!.id)) first.push(rowOfSeat.get(s)!)
    else open.push(rowOfSeat.get(s)!)
  for (const r of first) problem.insert(r)
  open.sort((a, b) => problem.rowClass[a]! - problem.rowClass[b]! || a - b)
  const trainingsIn = () => {
    const list: { row: number; person: number; certificate: string }[] = []
    const seen = new Set<number>()
    for (let r = 0; r < seats.length; r++) {
      const c = problem.columnOf[r]!
      if (c < 0) continue
      const seat = trained.seats[seats[r]!]!
      const person = model.unitPerson[c]!
      if (seat.certificate === null || holdersNow(seat.certificate, seat.date)[person]) continue
      const key = trainingKey(person, seat.certificate)
      if (!seen.has(key)) list.push({ row: r, person, certificate: seat.certificate })
      seen.add(key)
    }
    return list
  }
  const places = options.places ?? Number.POSITIVE_INFINITY
  const beyondTraining: string[] = []
  let kept = { columnOf: problem.columnOf.slice(), list: trainingsIn() }
  const limited = Number.isFinite(places)
  for (const r of open) {
    if (kept.list.length >= places) break
    if (!problem.insert(r)) {
      beyondTraining.push(instance.seats[seats[r]!]!.id)
      problem.closeReached()
      continue
    }
    if (!limited) continue
    const list = trainingsIn()
    if (list.length > places) break
    kept = { columnOf: problem.columnOf.slice(), list }
  }
  if (!limited) kept = { columnOf: problem.columnOf.slice(), list: trainingsIn() }

  // Effects: without the entry, is there another chain for its seat that needs no new training?
  const rowOf = new Int32Array(model.unitCount + model.classes.length).fill(-1)
  kept.columnOf.forEach((c, r) => {
    if (c >= 0) rowOf[c] = r
  })
  const allowed = new Uint8Array(instance.people.length * certificates.length)
  for (const e of kept.list) allowed[trainingKey(e.person, e.certificate)] = 1
  // Of the arcs that need training only those of the plan count from here on.
  const plannedArcs = Array.from({ length: model.groupCount }, (_, g) => {
    const { certificate } = trained.seats[model.groupSeats[g]![0]!]!
    const list: number[] = []
    for (let a = trainedFrom[g]!; a < model.arcStart[g + 1]!; a++)
      if (allowed[trainingKey(model.unitPerson[column[a]!]!, certificate!)]) list.push(a)
    return list
  })
  /** Calls back with each arc of a group that still counts and the training that it needs (−1: none). */
  const eachArc = (g: number, act: (column: number, training: number) => void) => {
    const { certificate } = trained.seats[model.groupSeats[g]![0]!]!
    for (let a = model.arcStart[g]!; a < trainedFrom[g]!; a++)
      if (kind[a] === WHOLE && !model.unitLocked[column[a]!]) act(column[a]!, -1)
    for (const a of plannedArcs[g]!) {
      const training = trainingKey(model.unitPerson[column[a]!]!, certificate!)
      if (allowed[training] && kind[a] === WHOLE && !model.unitLocked[column[a]!]) act(column[a]!, training)
    }
  }
  // By which groups the person of an entry could be taken.
  const takers = new Map<number, { group: number; training: number }[]>(
    kept.list.map((e) => [kept.columnOf[e.row]!, []]),
  )
  for (let g = 0; g < model.groupCount; g++)
    eachArc(g, (c, training) => takers.get(c)?.push({ group: g, training }))
  let parts = partsOf(model, eachArc, rowOf, problem)
  /** The row that goes empty without an entry's training; −1: another chain fills its seat. What chains reach doesn't
   *  depend on the entry's own person: who reaches them is back at the row itself. */
  const lostWithout = (row: number, without: number): number => {
    const start = parts.of(problem.rowList[row]!)
    if (start.free) return -1
    const reached = allFrom(start)
    const isBack = takers
      .get(kept.columnOf[row]!)!
      .some(
        (t) =>
          t.training !== without && (t.training < 0 || allowed[t.training]) && reached.has(parts.of(t.group)),
      )
    if (isBack) return -1
    const { lastRow } = start
    return lastRow >= 0 && problem.rowClass[lastRow]! > problem.rowClass[row]! ? lastRow : row
  }
  const entries: TrainingEntry[] = []
  for (const e of kept.list) {
    const key = trainingKey(e.person, e.certificate)
    const lost = lostWithout(e.row, key)
    if (lost < 0) {
      allowed[key] = 0
      parts = partsOf(model, eachArc, rowOf, problem)
      continue
    }
    entries.push({
      personId: instance.people[e.person]!.id,
      certificate: e.certificate,
      seatId: instance.seats[seats[e.row]!]!.id,
      fills: [
        { seatId: instance.seats[seats[lost]!]!.id, class: model.classes[problem.rowClass[lost]!]!.key },
      ],
    })
  }

  // The plan as a whole, by solving level 1 afresh on an instance that really has the certificates.
  const added = new Map<string, string[]>()
  for (const e of entries) added.set(e.personId, [...(added.get(e.personId) ?? []), e.certificate])
  const planned: RosterInstance = {
    ...base,
    people: base.people.map((p) => {
      const extra = added.get(p.id)
      if (!extra) return p
      return {
        ...p,
        certificates: [
          ...p.certificates,
          ...extra.map((key) => ({ key, spans: [{ from: from as never, until: null }] })),
        ],
      }
    }),
  }
  const before = [...model.lockedFilled]
  for (const r of first) before[problem.rowClass[r]!]!++
  const after = solveLevelOne(compileModel(planned)).filled
  const sum = (xs: number[]) => xs.reduce((a, b) => a + b, 0)
  const promised = kept.columnOf.filter((c) => c >= 0).length + sum(model.lockedFilled)
  return {
    entries,
    before,
    after,
    classes: model.classes.map((c) => c.key),
    beyondTraining,
    verified: sum(after) >= promised,
  }
}

interface Part {
  next: readonly Part[]
  /** It leads to somebody who sits nowhere. */
  free: boolean
  /** Of the rows that it leads to one of the last class; −1: it leads to none. */
  lastRow: number
}

/** Groups of seats that reach each other by changes of people, and what they lead to. */
function partsOf(
  model: Model,
  eachArc: (group: number, act: (column: number) => void) => void,
  rowOf: Int32Array,
  problem: Assignment,
): Components<Part> {
  const later = (a: number, b: number) =>
    a < 0 || (b >= 0 && problem.rowClass[b]! > problem.rowClass[a]!) ? b : a
  const around: ({ free: boolean; groups: number[]; lastRow: number } | undefined)[] = new Array(
    model.groupCount,
  )
  const aroundOf = (g: number) => {
    if (around[g]) return around[g]
    const groups = new Set<number>()
    let free = false
    let lastRow = -1
    eachArc(g, (c) => {
      const row = rowOf[c]!
      if (row < 0) free = true
      else {
        groups.add(problem.rowList[row]!)
        lastRow = later(lastRow, row)
      }
    })
    around[g] = { free, groups: [...groups], lastRow }
    return around[g]
  }
  return new Components<Part>(
    model.groupCount,
    (g) => aroundOf(g).groups,
    (groups, next) => ({
      next,
      free: groups.some((g) => aroundOf(g).free) || next.some((part) => part.free),
      lastRow: [...groups.map(aroundOf), ...next].map((part) => part.lastRow).reduce(later),
    }),
  )
}

/** Who holds a certificate on a date, as a table over the people, made once for each pair. */
function holderTables(people: readonly RosterPerson[]) {
  const tables = new Map<string, Uint8Array>()
  return (certificate: string | null, date: string): Uint8Array => {
    const key = `${certificate ?? ''}|${date}`
    let table = tables.get(key)
    if (!table) {
      table = Uint8Array.from(people, (p) =>
        Number(
          certificate === null ||
            p.certificates.some((c) => c.key === certificate && holdsOn(c.spans, date as CivilDate)),
        ),
      )
      tables.set(key, table)
    }
    return table
  }
}
