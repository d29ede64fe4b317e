/** The instance with every certificate that may be taught given on paper, and what each pair of a seat and a person then
 *  costs: trainings first. */
import type { CivilDate } from '@/lib/kernel/dates'
import { holdsOn } from '@/lib/kernel/spans'
import type { RosterInstance, RosterPerson, Seating } from '../schema'
import type { ArcLists } from './assign'
import { WHOLE } from './eligibility'
import { compileModel, type Model } from './model'

/** A person and a certificate as one number. */
export type Training = number

/** Metres that keep people in the seats that they have, where a roster is to change little. */
const MOVE = 100_000

export class TrainingModel {
  readonly model: Model
  private readonly certificates: string[]
  private readonly groupCertificate: Int32Array
  /** Who holds the certificate that a group asks for on its date. */
  private readonly holders: Uint8Array[]

  /** `teachable`: the certificates that a person may be given. @throws RangeError as `compileModel` does. */
  constructor(
    readonly base: RosterInstance,
    teachable: (person: RosterPerson) => readonly string[],
    private readonly from: string,
  ) {
    const trained = withTrainings(base, (p) => teachable(p), from)
    this.model = compileModel(trained)
    this.certificates = [...new Set(base.seats.flatMap((s) => s.certificate ?? []))]
    const indexOf = new Map(this.certificates.map((key, i) => [key, i]))
    const tableOf = holderTables(base.people)
    const seats = this.model.groupSeats.map((list) => base.seats[list[0]!]!)
    this.groupCertificate = Int32Array.from(seats, (s) =>
      s.certificate === null ? -1 : indexOf.get(s.certificate)!,
    )
    this.holders = seats.map((s) => tableOf(s.certificate, s.date))
  }

  /** What a unit's person would have to be trained in for a seat of the group; −1: nothing. */
  trainingOf(group: number, unit: number): Training {
    const person = this.model.unitPerson[unit]!
    if (this.holders[group]![person]) return -1
    return person * this.certificates.length + this.groupCertificate[group]!
  }

  get trainingCount(): number {
    return this.base.people.length * this.certificates.length
  }

  name(training: Training): { personId: string; certificate: string } {
    const n = this.certificates.length
    return {
      personId: this.base.people[Math.floor(training / n)]!.id,
      certificate: this.certificates[training % n]!,
    }
  }

  /** The instance in which the people really hold what they are trained in. */
  planned(trainings: Iterable<Training>): RosterInstance {
    const added = new Map<string, string[]>()
    for (const { personId, certificate } of [...trainings].map((t) => this.name(t)))
      added.set(personId, [...(added.get(personId) ?? []), certificate])
    return withTrainings(this.base, (p) => added.get(p.id) ?? [], this.from)
  }
}

/** Arcs of a training model, trainings being their first cost. */
export interface TrainingArcs extends ArcLists {
  cost: Float64Array
  /** Where the arcs of each group begin that need training. */
  trainedFrom: Int32Array
  /** One training: more than the metres of any two rosters differ by. */
  unit: number
}

/** Sorted by cost. `stays(group, unit)`: who sits there now costs nothing, anybody else a move; absent: metres alone. */
export function trainingArcs(
  trained: TrainingModel,
  stays?: (group: number, unit: number) => boolean,
): TrainingArcs {
  const { model } = trained
  const total = model.arcUnit.length
  const move = stays ? MOVE : 0
  let most = 1
  for (let g = 0; g < model.groupCount; g++) {
    const end = model.arcStart[g + 1]!
    if (end > model.arcStart[g]!) most += model.groupSeats[g]!.length * (model.arcCost[end - 1]! + move)
  }
  const unit = 2 ** Math.ceil(Math.log2(4 * most))
  const column = new Int32Array(total)
  const cost = new Float64Array(total)
  const kind = new Uint8Array(total)
  const trainedFrom = model.arcStart.slice(1)
  for (let g = 0; g < model.groupCount; g++) {
    const sorts: number[][] = [[], [], []]
    for (let a = model.arcStart[g]!; a < model.arcStart[g + 1]!; a++) {
      const u = model.arcUnit[a]!
      if (trained.trainingOf(g, u) >= 0) sorts[2]!.push(a)
      else sorts[stays?.(g, u) && model.arcKind[a] === WHOLE ? 0 : 1]!.push(a)
    }
    let at = model.arcStart[g]!
    trainedFrom[g] = at + sorts[0]!.length + sorts[1]!.length
    sorts.forEach((list, sort) => {
      for (const a of list) {
        column[at] = model.arcUnit[a]!
        cost[at] = sort === 0 ? 0 : model.arcCost[a]! + move + (sort === 2 ? unit : 0)
        kind[at++] = model.arcKind[a]!
      }
    })
  }
  return { start: model.arcStart, column, cost, kind, trainedFrom, unit }
}

function withTrainings(
  instance: RosterInstance,
  of: (person: RosterPerson) => readonly string[],
  from: string,
): RosterInstance {
  const spans = [{ from: from as CivilDate, until: null }]
  return {
    ...instance,
    people: instance.people.map((p) => {
      const keys = of(p)
      if (keys.length === 0) return p
      return { ...p, certificates: [...p.certificates, ...keys.map((key) => ({ key, spans }))] }
    }),
  }
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

/** Seats that two people share stay as they are: locked for the plan. */
export function lockShared(instance: RosterInstance, seatings: readonly Seating[]): RosterInstance {
  const seatById = new Map(instance.seats.map((s) => [s.id, s]))
  const lockedSeats = new Set(instance.locks.map((l) => l.seatId))
  const shared = seatings.filter(
    (s) => !lockedSeats.has(s.seatId) && s.half !== 'full' && seatById.get(s.seatId)?.shift === 'full',
  )
  return { ...instance, locks: [...instance.locks, ...shared] }
}
