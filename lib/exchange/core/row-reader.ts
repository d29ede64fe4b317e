import { type CivilDate, isCivilDate } from '@/lib/kernel/dates'
import type { Table, TableRow } from '../table'
import { FIELDS, type ImportKind, type Mapping } from './fields'

/** Something wrong in a file. An `error` keeps the whole file out; a `warning` is to be looked at. */
export interface Problem {
  row: number
  column: string | null
  value: string
  message: string
  severity: 'error' | 'warning'
}

export type Action = 'create' | 'change' | 'same'

const MONTHS = ['jan', 'feb', 'mar', 'apr', 'may', 'jun', 'jul', 'aug', 'sep', 'oct', 'nov', 'dec']
const two = (n: number | string) => String(n).padStart(2, '0')

/** A date as people write it in the United States, month first: 2028-11-07, 11/7/2028, 7-Nov-2028, Nov 7, 2028. Null
 *  when it is none; years have four digits. */
export function readDate(text: string): CivilDate | null {
  const clean = text.trim().replace(/[ T]00:00(:00(\.0+)?)?Z?$/, '')
  const iso = /^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$/.exec(clean)
  const us = /^(\d{1,2})[/.-](\d{1,2})[/.-](\d{4})$/.exec(clean)
  const dayFirst = /^(\d{1,2})[ -]([a-z]{3})[a-z]*\.?[ ,-]+(\d{4})$/i.exec(clean)
  const monthFirst = /^([a-z]{3})[a-z]*\.? (\d{1,2}),? (\d{4})$/i.exec(clean)
  const month = (name: string) => MONTHS.indexOf(name.toLowerCase()) + 1
  const date = iso
    ? `${iso[1]}-${two(iso[2]!)}-${two(iso[3]!)}`
    : us
      ? `${us[3]}-${two(us[1]!)}-${two(us[2]!)}`
      : dayFirst
        ? `${dayFirst[3]}-${two(month(dayFirst[2]!))}-${two(dayFirst[1]!)}`
        : monthFirst
          ? `${monthFirst[3]}-${two(month(monthFirst[1]!))}-${two(monthFirst[2]!)}`
          : ''
  return isCivilDate(date) ? date : null
}

const YES = new Set(['yes', 'y', 'true', 't', '1', 'x', 'active', 'worked', 'served'])
const NO = new Set(['no', 'n', 'false', 'f', '0', 'inactive', 'no show', 'absent'])

/** A spreadsheet runs this as a formula. A sign before a number or a telephone number is none. */
const FORMULA = /^[=@＝＋－＠]|^[+-](?![\d.\s()-]*$)/
/** Our own exports put an apostrophe before such a text (lib/papers/csv.ts): then it is meant as text. */
const GUARDED = /^'(?=\s*[=+\-@＝＋－＠\t\r\n])/

/** Reads the cells of one row by field, and notes what is wrong with them. An empty cell is null: the file says nothing. */
export class RowReader {
  failed = false

  constructor(
    private readonly columns: ReadonlyMap<string, { index: number; name: string }>,
    private readonly line: TableRow,
    private readonly problems: Problem[],
  ) {}

  get row(): number {
    return this.line.row
  }

  has(field: string): boolean {
    return this.columns.has(field)
  }

  raw(field: string): string {
    const column = this.columns.get(field)
    return column ? (this.line.cells[column.index] ?? '').trim() : ''
  }

  note(severity: Problem['severity'], field: string, message: string): void {
    if (severity === 'error') this.failed = true
    this.problems.push({
      row: this.line.row,
      column: this.columns.get(field)?.name ?? null,
      value: this.raw(field).slice(0, 200),
      message,
      severity,
    })
  }

  error(field: string, message: string): null {
    this.note('error', field, message)
    return null
  }

  text(field: string, most = 200): string | null {
    const raw = this.raw(field)
    if (raw === '') return null
    const guarded = GUARDED.test(raw)
    const text = (guarded ? raw.slice(1) : raw).normalize('NFC').replace(/\s+/g, ' ').trim()
    if (!guarded && FORMULA.test(text))
      return this.error(
        field,
        'This looks like a formula. Copy the column and paste it as values, then save again.',
      )
    if (text.length > most)
      return this.error(field, `This has ${text.length} characters; ${most} is the most. Shorten it.`)
    if (text.includes('\uFFFD'))
      return this.error(
        field,
        'Letters were lost here when the file was saved (�). Save it again as “CSV UTF-8”.',
      )
    return text
  }

  needed(field: string, what: string, most?: number): string | null {
    if (this.raw(field) === '')
      return this.error(field, `Every row needs ${what}. Fill it in, or delete the row.`)
    return this.text(field, most)
  }

  date(field: string): CivilDate | null {
    const text = this.text(field)
    if (text === null) return null
    return (
      readDate(text) ??
      this.error(field, 'This is no calendar date. Write it as 2028-11-07 or 11/7/2028 (month first).')
    )
  }

  number(field: string, like: { from: number; to: number; whole?: true; example: string }): number | null {
    const text = this.text(field)
    if (text === null) return null
    const number = Number(text.replace(/,(?=\d{3}(\D|$))/g, ''))
    if (
      !/^[+-]?[\d.,]+$/.test(text) ||
      !Number.isFinite(number) ||
      (like.whole && !Number.isInteger(number)) ||
      number < like.from ||
      number > like.to
    )
      return this.error(
        field,
        `This should be a ${like.whole ? 'whole ' : ''}number from ${like.from} to ${like.to}, like ${like.example}.`,
      )
    return number
  }

  yesNo(field: string): boolean | null {
    const text = this.text(field)?.toLowerCase()
    if (text === undefined) return null
    if (YES.has(text)) return true
    if (NO.has(text)) return false
    this.error(field, 'Write yes or no, or leave the cell empty.')
    return null
  }

  /** Address, city, state and ZIP as one line. */
  address(): string | null {
    const [street, city, state, zip] = ['address', 'city', 'state', 'zip'].map((key) => this.text(key))
    const end = [state, zip].filter(Boolean).join(' ')
    const line = [street, city, end].filter(Boolean).join(', ')
    return line === '' ? null : line
  }

  /** Latitude and longitude together, or null with a note where one is missing. */
  point(): { lat: number; lon: number } | null {
    const lat = this.number('lat', { from: -90, to: 90, example: '42.5' })
    const lon = this.number('lon', { from: -180, to: 180, example: '-91.25' })
    if (lat === null && lon === null) return null
    if (lat === null || lon === null) {
      if (!this.failed)
        this.error(lat === null ? 'lat' : 'lon', 'Give both latitude and longitude, or neither.')
      return null
    }
    if (lat === 0 && lon === 0)
      return this.error(
        'lat',
        '0, 0 lies in the Atlantic: a program wrote it for “unknown”. Empty both cells.',
      )
    return { lat, lon }
  }
}

/** A reader for each row of a table; rows that are wider or narrower than the header are noted. */
export function* readRows(
  kind: ImportKind,
  table: Table,
  mapping: Mapping,
  problems: Problem[],
): Generator<RowReader> {
  const columns = new Map(
    FIELDS[kind].flatMap(({ key }) => {
      const index = mapping[key] === undefined ? -1 : table.header.indexOf(mapping[key])
      return index < 0 ? [] : [[key, { index, name: mapping[key]! }] as const]
    }),
  )
  const width = table.header.length
  for (const line of table.rows) {
    const extra = line.cells.findIndex((cell, i) => i >= width && cell.trim() !== '')
    if (extra >= 0) {
      problems.push({
        row: line.row,
        column: null,
        value: line.cells[extra]!.slice(0, 200),
        message: `The row has more cells than the ${width} columns of the header. A text with a comma in it must stand in quotation marks.`,
        severity: 'error',
      })
      continue
    }
    if (table.format === 'csv' && line.cells.length < width)
      problems.push({
        row: line.row,
        column: null,
        value: '',
        message: `The row has ${line.cells.length} cells, the header ${width}. The missing ones count as empty; look whether the row was cut off.`,
        severity: 'warning',
      })
    yield new RowReader(columns, line, problems)
  }
}
