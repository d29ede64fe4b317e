export type CsvCell = string | number | boolean | null | undefined

/** What a spreadsheet takes for the beginning of a formula, after spaces too; the full-width forms among them.
 *  Source: OWASP, "CSV Injection" (= + - @, tab, carriage return); the full-width forms and the line feed are ours. */
const FORMULA_START = /^\s*[=+\-@＝＋－＠]|^[\t\r\n]/

/** One cell. Text that a spreadsheet would run as a formula gets an apostrophe in front; numbers are written as they
 *  are, so that −5 stays a number. Quoted where RFC 4180 (section 2, rules 5 to 7) asks for it. */
export function csvCell(cell: CsvCell): string {
  if (cell === null || cell === undefined) return ''
  if (typeof cell === 'number') return Number.isFinite(cell) ? String(cell) : ''
  if (typeof cell === 'boolean') return cell ? 'yes' : 'no'
  const safe = FORMULA_START.test(cell) ? `'${cell}` : cell
  return /[",\r\n]|^\s|\s$/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe
}

/** A CSV file as text: RFC 4180, lines end in CRLF, a header first. `rows[line][column]` has the header's width.
 *  @throws RangeError for a row of another width. O(cells). */
export function csvFile(header: readonly string[], rows: readonly (readonly CsvCell[])[]): string {
  const lines = [header, ...rows].map((row, i) => {
    if (row.length !== header.length)
      throw new RangeError(`row ${i} has ${row.length} cells, the header has ${header.length}`)
    return row.map(csvCell).join(',')
  })
  return `${lines.join('\r\n')}\r\n`
}

/** A column of a list: its name, and its cell in a row. Left out where it is `shown: false` (somebody may not read it). */
export interface CsvColumn<Row> {
  name: string
  of: (row: Row) => CsvCell
  shown?: boolean
}

/** A list as a CSV file: a column a name, in the order given. O(cells). */
export function csvList<Row>(columns: readonly CsvColumn<Row>[], rows: readonly Row[]): string {
  const shown = columns.filter((column) => column.shown !== false)
  return csvFile(
    shown.map((column) => column.name),
    rows.map((row) => shown.map((column) => column.of(row))),
  )
}

/** The answer to a download. The byte-order mark makes spreadsheets read it as UTF-8 and not as a local code page. */
export const csvResponse = (fileName: string, text: string): Response =>
  new Response(`\uFEFF${text}`, {
    headers: {
      'Content-Type': 'text/csv; charset=utf-8; header=present',
      'Content-Disposition': `attachment; filename="${fileName.replace(/[^A-Za-z0-9._-]+/g, '-')}"`,
      'Cache-Control': 'no-store',
    },
  })
