/** What a table file comes to, whatever its format: a header and rows of text. Rows count as a spreadsheet counts them,
 *  from 1, the header and blank rows included. */
export interface TableRow {
  row: number
  cells: string[]
}

export interface Table {
  format: 'csv' | 'xlsx'
  /** Row of the header. */
  headerRow: number
  header: string[]
  rows: TableRow[]
  /** What the reader decided by itself: character set, delimiter, sheet. */
  notes: string[]
}

/** No file may ask for more than this. A county of 30,000 people needs a hundredth of it. */
export const LIMITS = {
  tableBytes: 50 * 1024 * 1024,
  rows: 200_000,
  columns: 200,
  fieldLength: 10_000,
  /** Of a workbook: entries of its archive, bytes when unpacked, growth of one entry. */
  zipEntries: 2000,
  unpackedBytes: 256 * 1024 * 1024,
  zipRatio: 250,
  xmlBytes: 512 * 1024 * 1024,
} as const

/** A file that can't be read at all: one sentence that says where and how to put it right. */
export class UnreadableFile extends RangeError {
  constructor(
    message: string,
    /** Which part of the caller's input it is about. */
    readonly path = 'path',
  ) {
    super(message)
    this.name = 'UnreadableFile'
  }
}

/** Letters of a column as spreadsheets show them: 0 → A, 26 → AA. */
export function columnLetters(index: number): string {
  let letters = ''
  for (let n = index + 1; n > 0; n = Math.floor((n - 1) / 26))
    letters = String.fromCharCode(65 + ((n - 1) % 26)) + letters
  return letters
}

const shown = (text: string) => (text.length > 40 ? `${text.slice(0, 40)}…` : text)

/** Takes raw records apart into header and rows, and holds them to the limits.
 *  @throws UnreadableFile */
export function toTable(
  format: Table['format'],
  records: readonly (readonly string[])[],
  notes: string[],
): Table {
  const filled = (cells: readonly string[]) => cells.some((cell) => cell.trim() !== '')
  const at = records.findIndex(filled)
  if (at < 0) throw new UnreadableFile('The file is empty: the first row must name the columns.')
  if (records.length - at - 1 > LIMITS.rows)
    throw new UnreadableFile(
      `The file has ${records.length - at - 1} rows; ${LIMITS.rows} is the most. Split it and bring the parts in one by one.`,
    )
  const width = records[at]!.findLastIndex((cell) => cell.trim() !== '') + 1
  const header = records[at]!.slice(0, width).map((cell) => cell.trim())
  if (width > LIMITS.columns)
    throw new UnreadableFile(
      `The file has ${width} columns; ${LIMITS.columns} is the most. Delete the columns that you don’t need.`,
    )
  const seen = new Map<string, number>()
  header.forEach((name, i) => {
    if (name === '')
      throw new UnreadableFile(
        `Column ${columnLetters(i)} has no name in row ${at + 1}. Name it, or delete the column.`,
      )
    const before = seen.get(name.toLowerCase())
    if (before !== undefined)
      throw new UnreadableFile(
        `Columns ${columnLetters(before)} and ${columnLetters(i)} are both named “${shown(name)}”. Give one of them another name.`,
      )
    seen.set(name.toLowerCase(), i)
  })
  const rows: TableRow[] = []
  for (let i = at + 1; i < records.length; i++) {
    const cells = records[i]!
    if (!filled(cells)) continue
    const long = cells.findIndex((cell) => cell.length > LIMITS.fieldLength)
    if (long >= 0)
      throw new UnreadableFile(
        `Row ${i + 1}, column ${columnLetters(long)} holds ${cells[long]!.length} characters; ${LIMITS.fieldLength} is the most. A quotation mark that is never closed does this, too.`,
      )
    rows.push({ row: i + 1, cells: [...cells] })
  }
  if (rows.length === 0)
    throw new UnreadableFile(
      `The file names its columns in row ${at + 1} but has no rows below. Check that you saved the right sheet.`,
    )
  return { format, headerRow: at + 1, header, rows, notes }
}
