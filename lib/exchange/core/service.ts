import { type CivilDate, daysBetween } from '@/lib/kernel/dates'
import type { Table } from '../table'
import type { Mapping } from './fields'
import { type PositionName, readBirthYear, readName, readPosition } from './people'
import { type Problem, type RowReader, readRows } from './row-reader'

/** Who served when and in which position, and whom a party names for which position. Pure. */

/** A person as a list may name them: by the county's number, or by name and birth year. */
export interface NamedPerson {
  id: string
  countyRef: string
  givenName: string
  familyName: string
  birthYear: number | null
  /** The id of the record that counts: another one when this was merged. */
  countsAs: string
}

export interface PlannedService {
  row: number
  personId: string
  servedOn: CivilDate
  positionKey: string
}
export interface PlannedNomination {
  row: number
  personId: string
  positionKey: string
  party: string
  rank: number
  listedOn: CivilDate
}
export interface ListPlan<T> {
  /** What is new; `same` counts what is there already. */
  items: T[]
  same: number
  /** Nominations that are there with another rank. */
  changed: number
  problems: Problem[]
}

const plainName = (text: string) =>
  text
    .normalize('NFD')
    .replace(/[^\p{L}]/gu, '')
    .toLowerCase()
const nameKey = (given: string, family: string) => `${plainName(given)} ${plainName(family)}`

class PersonFinder {
  private readonly byRef: Map<string, NamedPerson>
  private readonly byName = new Map<string, NamedPerson[]>()

  constructor(people: readonly NamedPerson[]) {
    this.byRef = new Map(people.map((person) => [person.countyRef, person]))
    for (const person of people) {
      const key = nameKey(person.givenName, person.familyName)
      this.byName.set(key, [...(this.byName.get(key) ?? []), person])
    }
  }

  find(cells: RowReader, year: number): string | null {
    const ref = cells.text('countyRef', 60)
    if (ref !== null)
      return (
        this.byRef.get(ref)?.countsAs ??
        cells.error(
          'countyRef',
          'The county has nobody with this number. Bring the people in first, or correct the number.',
        )
      )
    if (!cells.has('givenName') && !cells.has('fullName')) {
      cells.needed('countyRef', 'the county’s number')
      return null
    }
    const name = readName(cells)
    const birthYear = readBirthYear(cells, year)
    if (cells.failed || name === null) return null
    const column = cells.has('fullName') ? 'fullName' : 'familyName'
    const found = new Set(
      (this.byName.get(nameKey(name.givenName, name.familyName)) ?? [])
        .filter((p) => birthYear === null || p.birthYear === null || p.birthYear === birthYear)
        .map((p) => p.countsAs),
    )
    if (found.size === 1) return [...found][0]!
    return cells.error(
      column,
      found.size === 0
        ? 'The county has nobody of this name (and birth year). Bring the person in first, or give the county’s number.'
        : `The county has ${found.size} people of this name. Give the county’s number or the birth year.`,
    )
  }
}

export interface ServiceGround {
  people: readonly NamedPerson[]
  positions: readonly PositionName[]
  today: CivilDate
  /** The days of the elections that are kept here; from the first of them on, other days are asked about. */
  electionDays: readonly CivilDate[]
  /** `${personId} ${date} ${positionKey}` of what is on record. */
  known: ReadonlySet<string>
}

export const serviceKey = (s: { personId: string; servedOn: string; positionKey: string }) =>
  `${s.personId} ${s.servedOn} ${s.positionKey}`

/** Setting up before, taking things back after: common practice. */
const DAYS_AROUND = 7
const isNear = (day: CivilDate, other: CivilDate): boolean => Math.abs(daysBetween(day, other)) <= DAYS_AROUND

/** The dry run of a service history. O(rows × days of elections). */
export function planService(table: Table, mapping: Mapping, ground: ServiceGround): ListPlan<PlannedService> {
  const plan: ListPlan<PlannedService> = { items: [], same: 0, changed: 0, problems: [] }
  const finder = new PersonFinder(ground.people)
  const rowOf = new Map<string, number>()
  for (const cells of readRows('service', table, mapping, plan.problems)) {
    if (cells.yesNo('served') === false) continue
    const personId = finder.find(cells, Number(ground.today.slice(0, 4)))
    cells.needed('servedOn', 'the day')
    const servedOn = cells.failed ? null : cells.date('servedOn')
    if (servedOn !== null && servedOn > ground.today)
      cells.error('servedOn', 'This day lies in the future. Service is brought in after it was done.')
    cells.needed('position', 'the position')
    const positionKey = cells.failed ? null : readPosition(cells, ground.positions)
    const [first] = ground.electionDays
    if (
      servedOn !== null &&
      first &&
      servedOn >= first &&
      !ground.electionDays.some((day) => isNear(day, servedOn))
    )
      cells.note(
        'warning',
        'servedOn',
        'No election of this county lies within a week of this day. Is it right?',
      )
    if (cells.failed || personId === null || servedOn === null || positionKey === null) continue
    const item = { row: cells.row, personId, servedOn, positionKey }
    takeOnce(plan, item, cells, 'servedOn', serviceKey(item), ground.known, rowOf)
  }
  return plan
}

/** Takes an item unless it is on record already (`known`) or an earlier row says the same (`rowOf`: key → row). */
function takeOnce<Item>(
  plan: ListPlan<Item>,
  item: Item,
  cells: RowReader,
  day: 'servedOn' | 'trainedOn',
  key: string,
  known: ReadonlySet<string>,
  rowOf: Map<string, number>,
): void {
  const before = rowOf.get(key)
  if (before !== undefined) cells.note('warning', day, `Row ${before} says the same; it counts once.`)
  else if (known.has(key)) plan.same++
  else plan.items.push(item)
  rowOf.set(key, before ?? cells.row)
}

export interface PlannedTraining {
  row: number
  personId: string
  trainedOn: CivilDate
  /** What the position asks for. */
  certificateKey: string
  saidBy: string
}
export interface TrainingGround {
  people: readonly NamedPerson[]
  positions: readonly PositionName[]
  /** Position → the certificate that it asks for. */
  certificates: ReadonlyMap<string, string>
  today: CivilDate
  /** For the whole list, where no column says so. */
  saidBy: string | null
  /** `trainingKey` of what is on record. */
  known: ReadonlySet<string>
}

export const trainingKey = (t: { personId: string; trainedOn: string; certificateKey: string }) =>
  `${t.personId} ${t.trainedOn} ${t.certificateKey}`

/** The dry run of training that the county recorded elsewhere: who was trained when, for which position, and who says
 *  so. Whether it counts, and how long, is for the county's rules to say. O(rows). */
export function planTraining(
  table: Table,
  mapping: Mapping,
  ground: TrainingGround,
): ListPlan<PlannedTraining> {
  const plan: ListPlan<PlannedTraining> = { items: [], same: 0, changed: 0, problems: [] }
  const finder = new PersonFinder(ground.people)
  const rowOf = new Map<string, number>()
  for (const cells of readRows('training', table, mapping, plan.problems)) {
    const personId = finder.find(cells, Number(ground.today.slice(0, 4)))
    cells.needed('trainedOn', 'the day')
    const trainedOn = cells.failed ? null : cells.date('trainedOn')
    if (trainedOn !== null && trainedOn > ground.today)
      cells.error('trainedOn', 'This day lies in the future. Training is brought in after it was done.')
    cells.needed('position', 'the position')
    const positionKey = cells.failed ? null : readPosition(cells, ground.positions)
    const saidBy = cells.text('saidBy', 120) ?? ground.saidBy ?? cells.needed('saidBy', 'who says so')
    if (cells.failed || personId === null || trainedOn === null || positionKey === null || saidBy === null)
      continue
    const certificateKey = ground.certificates.get(positionKey)!
    const item = { row: cells.row, personId, trainedOn, certificateKey, saidBy }
    takeOnce(plan, item, cells, 'trainedOn', trainingKey(item), ground.known, rowOf)
  }
  return plan
}

export interface NominationGround {
  people: readonly NamedPerson[]
  positions: readonly PositionName[]
  today: CivilDate
  /** For the whole list, where no column says so. */
  party: string | null
  listedOn: CivilDate | null
  /** Key → rank of what is on record. */
  known: ReadonlyMap<string, number>
}

export const nominationKey = (n: {
  party: string
  listedOn: string
  positionKey: string
  personId: string
}) => [n.party, n.listedOn, n.positionKey, n.personId].join('\u0000')

/** The dry run of a party's list: whom it names for which position, in which order. Without a rank the order of the
 *  rows counts, for each party, date and position. O(rows). */
export function planNominations(
  table: Table,
  mapping: Mapping,
  ground: NominationGround,
): ListPlan<PlannedNomination> {
  const plan: ListPlan<PlannedNomination> = { items: [], same: 0, changed: 0, problems: [] }
  const finder = new PersonFinder(ground.people)
  const rowOf = new Map<string, number>()
  const rankRow = new Map<string, number>()
  const next = new Map<string, number>()
  for (const cells of readRows('nominations', table, mapping, plan.problems)) {
    const personId = finder.find(cells, Number(ground.today.slice(0, 4)))
    cells.needed('position', 'the position')
    const positionKey = cells.failed ? null : readPosition(cells, ground.positions)
    const party = cells.text('party', 60) ?? ground.party
    if (party === null)
      cells.error('party', 'Say which party’s list this is: in a column, or below for the whole file.')
    const listedOn = cells.date('listedOn') ?? ground.listedOn
    if (listedOn === null && cells.text('listedOn', 60) === null)
      cells.error('listedOn', 'Say the date of the list: in a column, or below for the whole file.')
    const ranked = cells.number('rank', { from: 1, to: 100_000, whole: true, example: '1' })
    if (cells.failed || personId === null || positionKey === null || party === null || listedOn === null)
      continue
    const list = [party, listedOn, positionKey].join('\u0000')
    const rank = ranked ?? (next.get(list) ?? 0) + 1
    next.set(list, rank)
    const item = { row: cells.row, personId, positionKey, party, rank, listedOn }
    const key = nominationKey(item)
    const before = rowOf.get(key)
    const sameRank = rankRow.get(`${list}\u0000${rank}`)
    if (before !== undefined) {
      cells.error('rank', `Row ${before} names the same person for the same position. Keep one of the rows.`)
      continue
    }
    if (sameRank !== undefined) {
      cells.error('rank', `Row ${sameRank} has the same rank on the same list. Correct one of them.`)
      continue
    }
    rowOf.set(key, cells.row)
    rankRow.set(`${list}\u0000${rank}`, cells.row)
    const known = ground.known.get(key)
    if (known === rank) plan.same++
    else {
      if (known !== undefined) plan.changed++
      plan.items.push(item)
    }
  }
  return plan
}
