import { toKm } from '@/lib/kernel/miles'
import { atOnce, type Slices } from '@/lib/kernel/slices'
import { type Agreement, comparePairs, type Somebody } from '@/lib/people/core/duplicates'
import type { Table } from '../table'
import type { Mapping } from './fields'
import { type Action, type Problem, type RowReader, readDate, readRows } from './row-reader'

/** People from a table, held against those whom the county has. Pure: the same rows give the same plan. */

export interface PersonValues {
  countyRef: string
  givenName: string
  familyName: string
  birthYear: number | null
  email: string | null
  phone: string | null
  party: string | null
  homeAddress: string | null
  homeLat: number | null
  homeLon: number | null
  confidentialAddress: boolean
  languages: string[]
  accommodations: string | null
  wantsPositionKey: string | null
  electionsServed: number
  maxTravelKm: number | null
  unavailableOn: string[]
  offersShift: string
  active: boolean
  homePrecinct: string | null
  student: boolean
}

export interface KnownPerson extends PersonValues {
  id: string
  mergedIntoId: string | null
}

export interface PositionName {
  key: string
  names: readonly string[]
}

export interface PeopleGround {
  known: readonly KnownPerson[]
  /** Null: no county's positions are known; any short text will do. */
  positions: readonly PositionName[] | null
  /** For birth years. */
  year: number
  /** Codes of the county's precincts in small letters; without any, home precincts aren't checked. */
  precincts?: ReadonlySet<string>
}

export interface PlannedPerson {
  row: number
  action: Action
  id: string | null
  /** What is new about them. */
  fields: string[]
  values: Pick<PersonValues, 'countyRef' | 'givenName' | 'familyName'> & Partial<PersonValues>
}

export interface DuplicateFound {
  row: number
  /** The other one stands in this row of the file, or is in the county under this number. */
  otherRow: number | null
  otherRef: string | null
  nameSimilarity: number
  agree: Agreement[]
}

export interface PeoplePlan {
  people: PlannedPerson[]
  problems: Problem[]
  duplicates: DuplicateFound[]
}

/** Codes of ISO 639-1 and -3 by their English and own names: languages that the Voting Rights Act asks some county for
 *  or that its office names often. Any other goes by its code. */
const LANGUAGES: Record<string, string> = Object.fromEntries(
  'en english; es spanish espanol; vi vietnamese; zh chinese mandarin cantonese; ko korean; ja japanese; tl tagalog filipino; hi hindi; bn bengali bangla; gu gujarati; pa punjabi; ur urdu; ar arabic; so somali; fr french francais; ht haitian creole kreyol; pt portuguese; ru russian; uk ukrainian; pl polish; de german; it italian; hmn hmong; km khmer cambodian; lo lao; my burmese; ne nepali; am amharic; sw swahili; fa farsi persian; nv navajo; ypk yupik; apa apache; ase asl sign'
    .split('; ')
    .flatMap((line) => {
      const [code, ...names] = line.split(' ') as [string, ...string[]]
      return [code, ...names].map((name) => [name, code])
    }),
)

const EMAIL = /^[^\s@,;<>"]{1,64}@[^\s@,;<>"]+\.[^\s@,;<>".]{2,}$/

const plainWord = (text: string) =>
  text
    .normalize('NFD')
    .toLowerCase()
    .replace(/[^a-z0-9]/g, '')

/** The county's position that a text means: its key or one of its names. Null with a note where it is none. */
export function readPosition(cells: RowReader, positions: readonly PositionName[] | null): string | null {
  const text = cells.text('position')
  if (text === null) return null
  if (positions === null) return text
  const found = positions.find((p) => [p.key, ...p.names].some((name) => plainWord(name) === plainWord(text)))
  return (
    found?.key ??
    cells.error(
      'position',
      `The county has no such position. Its positions: ${positions.map((p) => p.names[0] ?? p.key).join(', ') || 'none yet'}.`,
    )
  )
}

/** First and last name; from a whole name, “Last, First” or the last word as the last name. */
export function readName(cells: RowReader): { givenName: string; familyName: string } | null {
  if (cells.has('givenName') && cells.has('familyName')) {
    const givenName = cells.needed('givenName', 'a first name', 100)
    const familyName = cells.needed('familyName', 'a last name', 100)
    return givenName && familyName ? { givenName, familyName } : null
  }
  const whole = cells.needed('fullName', 'a name')
  if (whole === null) return null
  const comma = /^([^,]+),\s*([^,]+)$/.exec(whole)
  if (comma) return { familyName: comma[1]!.trim(), givenName: comma[2]!.trim() }
  const cut = whole.lastIndexOf(' ')
  if (cut > 0) return { givenName: whole.slice(0, cut), familyName: whole.slice(cut + 1) }
  return cells.error('fullName', 'Give a first and a last name: “Jane Smith” or “Smith, Jane”.')
}

export function readBirthYear(cells: RowReader, year: number): number | null {
  const text = cells.text('birthYear')
  if (text === null) return null
  const found = /^\d{4}$/.test(text) ? Number(text) : Number(readDate(text)?.slice(0, 4) ?? Number.NaN)
  if (found >= year - 115 && found <= year - 14) return found
  return cells.error(
    'birthYear',
    `This should be a year from ${year - 115} to ${year - 14}, or a date like 6/30/1951.`,
  )
}

function readLanguages(cells: RowReader): string[] | null {
  const text = cells.text('languages')
  if (text === null) return null
  const codes: string[] = []
  for (const part of text
    .split(/[,;/|&+]|\band\b/i)
    .map((p) => p.trim())
    .filter(Boolean)) {
    const words = part
      .normalize('NFD')
      .toLowerCase()
      .replace(/[^a-z\s]/g, '')
      .split(/\s+/)
    const code =
      words.map((word) => LANGUAGES[word]).find(Boolean) ?? (/^[a-z]{2,3}$/.test(part) ? part : null)
    if (code === null) {
      cells.error(
        'languages',
        `“${part.slice(0, 40)}” is not known as a language. Write its English name, or its code like “es”.`,
      )
      return null
    }
    if (!codes.includes(code)) codes.push(code)
  }
  return codes
}

function readDays(cells: RowReader): string[] | null {
  const text = cells.text('unavailableOn', 2000)
  if (text === null) return null
  const days = text
    .split(/[\s,;]+/)
    .filter(Boolean)
    .map(readDate)
  if (days.every((day) => day !== null)) return [...new Set(days as string[])].sort()
  cells.error('unavailableOn', 'Write the days as 2028-11-07 or 11/7/2028, with commas between.')
  return null
}

const SHIFTS: Record<string, string> = {
  full: 'full',
  fullday: 'full',
  allday: 'full',
  whole: 'full',
  wholeday: 'full',
  morning: 'morning',
  am: 'morning',
  afternoon: 'afternoon',
  pm: 'afternoon',
}

function readShift(cells: RowReader): string | null {
  const text = cells.text('offersShift')
  if (text === null) return null
  return SHIFTS[plainWord(text)] ?? cells.error('offersShift', 'Write full, morning or afternoon.')
}

function readEmail(cells: RowReader): string | null {
  const text = cells.text('email')
  if (text === null) return null
  return EMAIL.test(text)
    ? text.toLowerCase()
    : cells.error('email', 'This is no e-mail address. Correct it, or empty the cell.')
}

function readPhone(cells: RowReader): string | null {
  const text = cells.text('phone', 60)
  if (text === null) return null
  const digits = text.replace(/\D/g, '').length
  return digits >= 7 && digits <= 20
    ? text
    : cells.error('phone', 'A telephone number has at least 7 digits. Correct it, or empty the cell.')
}

function readHomePrecinct(cells: RowReader, precincts: PeopleGround['precincts']): string | null {
  const code = cells.text('homePrecinct', 50)
  if (code !== null && precincts && precincts.size > 0 && !precincts.has(code.toLowerCase()))
    cells.note(
      'warning',
      'homePrecinct',
      'No precinct of this county has this code. That is right for somebody who lives elsewhere; else correct it.',
    )
  return code
}

/** What one row says of a person; null when it can't be used. Cells that say nothing are left out. */
function readPerson(cells: RowReader, ground: PeopleGround): PlannedPerson['values'] | null {
  const countyRef = cells.needed('countyRef', 'the county’s number', 60)
  const name = readName(cells)
  const point = cells.point()
  const miles = cells.number('maxTravelMiles', { from: 0, to: 600, example: '15' })
  const values = {
    birthYear: readBirthYear(cells, ground.year),
    email: readEmail(cells),
    phone: readPhone(cells),
    party: cells.text('party', 60),
    homeAddress: cells.address(),
    homeLat: point?.lat ?? null,
    homeLon: point?.lon ?? null,
    confidentialAddress: cells.yesNo('confidentialAddress'),
    languages: readLanguages(cells),
    accommodations: cells.text('accommodations', 1000),
    wantsPositionKey: readPosition(cells, ground.positions),
    electionsServed: cells.number('electionsServed', { from: 0, to: 200, whole: true, example: '4' }),
    maxTravelKm: miles === null ? null : toKm(miles),
    unavailableOn: readDays(cells),
    offersShift: readShift(cells),
    active: cells.yesNo('active'),
    homePrecinct: readHomePrecinct(cells, ground.precincts),
    student: cells.yesNo('student'),
  }
  if (cells.failed || countyRef === null || name === null) return null
  const said = Object.fromEntries(Object.entries(values).filter(([, value]) => value !== null))
  return { countyRef, ...name, ...said }
}

/** Rows read without a pause: some milliseconds. */
const SLICE = 500

const equal = (a: unknown, b: unknown) =>
  typeof a === 'number' && typeof b === 'number'
    ? Math.abs(a - b) < 1e-9
    : JSON.stringify(a) === JSON.stringify(b)

/** The dry run of a people file. A row is the person with its county number: new, changed (in which fields) or the
 *  same; a cell that is empty changes nothing. Likely duplicates of new people are told, within the file and in the
 *  county. O(rows) but for the duplicates (see `comparePairs`). */
export const planPeople = (table: Table, mapping: Mapping, ground: PeopleGround): PeoplePlan =>
  atOnce(planPeopleInSlices(table, mapping, ground))

/** The same in slices. */
export function* planPeopleInSlices(
  table: Table,
  mapping: Mapping,
  ground: PeopleGround,
): Slices<PeoplePlan> {
  const problems: Problem[] = []
  const people: PlannedPerson[] = []
  const known = new Map(ground.known.map((person) => [person.countyRef, person]))
  const rowOf = new Map<string, number>()
  let read = 0
  for (const cells of readRows('people', table, mapping, problems)) {
    if (read++ % SLICE === 0) yield
    const values = readPerson(cells, ground)
    if (values === null) continue
    const before = rowOf.get(values.countyRef)
    if (before !== undefined) {
      cells.error(
        'countyRef',
        `Row ${before} has the same number. Keep one of the rows, or correct the number.`,
      )
      continue
    }
    rowOf.set(values.countyRef, cells.row)
    const person = known.get(values.countyRef)
    if (person?.mergedIntoId) {
      cells.note(
        'warning',
        'countyRef',
        'This record was merged into another one of the same person, so the row is left out. Take it out of your list.',
      )
      continue
    }
    const changed = person
      ? (Object.keys(values) as (keyof PersonValues)[]).filter((key) => !equal(values[key], person[key]))
      : Object.keys(values)
    if (person?.confidentialAddress && values.confidentialAddress === false)
      cells.note(
        'warning',
        'confidentialAddress',
        'This person’s address is kept confidential now; the file would end that.',
      )
    people.push({
      row: cells.row,
      action: person ? (changed.length === 0 ? 'same' : 'change') : 'create',
      id: person?.id ?? null,
      fields: changed,
      values,
    })
  }
  return { people, problems, duplicates: yield* duplicatesOf(people, ground.known) }
}

function* duplicatesOf(
  people: readonly PlannedPerson[],
  known: readonly KnownPerson[],
): Slices<DuplicateFound[]> {
  const somebody = (key: string, of: PlannedPerson['values']): Somebody => ({
    key,
    givenName: of.givenName,
    familyName: of.familyName,
    birthYear: of.birthYear ?? null,
    email: of.email ?? null,
    phone: of.phone ?? null,
    address: of.homeAddress ?? null,
  })
  const fresh = people.filter((p) => p.action === 'create')
  const there = known.filter((person) => person.mergedIntoId === null)
  const refOf = new Map(there.map((person) => [`k${person.id}`, person.countyRef]))
  const pairs = yield* comparePairs(
    fresh.map((p) => somebody(`r${p.row}`, p.values)),
    there.map((person) => somebody(`k${person.id}`, person)),
  )
  return pairs.map(({ first, second, nameSimilarity, agree }) => {
    const rows = [first, second].filter((key) => key[0] === 'r').map((key) => Number(key.slice(1)))
    return {
      row: Math.max(...rows),
      otherRow: rows.length === 2 ? Math.min(...rows) : null,
      otherRef: refOf.get(second) ?? null,
      nameSimilarity,
      agree,
    }
  })
}
