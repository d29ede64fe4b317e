import { CsvError, parse } from 'csv-parse/sync'
import { LIMITS, type Table, toTable, UnreadableFile } from './table'
import { decodeText } from './text'

const DELIMITERS = [
  [',', 'commas'],
  [';', 'semicolons'],
  ['\t', 'tabs'],
  ['|', 'bars'],
] as const

/** The delimiter that stands most often in the first line that says something, outside quotation marks. */
function sniffDelimiter(text: string): (typeof DELIMITERS)[number] {
  const counts = new Map<string, number>()
  let quoted = false
  let said = false
  for (const sign of text) {
    if (sign === '"') quoted = !quoted
    else if (!quoted && (sign === '\n' || sign === '\r')) {
      if (said) break
    } else if (!quoted && DELIMITERS.some(([d]) => d === sign)) counts.set(sign, (counts.get(sign) ?? 0) + 1)
    if (sign.trim() !== '') said = true
  }
  const most = Math.max(0, ...counts.values())
  return DELIMITERS.find(([d]) => most > 0 && counts.get(d) === most) ?? DELIMITERS[0]
}

/** A CSV file (RFC 4180; other delimiters and line ends too). O(bytes).
 *  @throws UnreadableFile with the line. */
export function readCsv(bytes: Uint8Array): Table {
  if (bytes.length > LIMITS.tableBytes)
    throw new UnreadableFile(
      `The file is larger than ${LIMITS.tableBytes / 1024 / 1024} MB. Delete columns that you don’t need, or split it.`,
    )
  const { text: all, note } = decodeText(bytes)
  // Some spreadsheets write the delimiter as a line of its own.
  const named = /^sep=(.)\r?\n/.exec(all)
  const text = named ? all.slice(named[0].length) : all
  const [delimiter, word] = named ? [named[1]!, 'the sign that its first line names'] : sniffDelimiter(text)
  const notes = [
    ...(note ? [note] : []),
    ...(delimiter === ',' ? [] : [`The columns are separated by ${word}.`]),
  ]
  let records: string[][]
  try {
    records = parse(text, {
      delimiter,
      record_delimiter: ['\r\n', '\n', '\r'],
      relax_column_count: true,
      skip_empty_lines: false,
      max_record_size: LIMITS.fieldLength * 20,
    })
  } catch (error) {
    throw new UnreadableFile(csvSentence(error, text, named ? 1 : 0))
  }
  return toTable('csv', named ? [[], ...records] : records, notes)
}

/** The line on which the last quotation mark opens. */
function lastOpening(text: string): number {
  let line = 1
  let opened = 1
  let quoted = false
  for (const sign of text) {
    if (sign === '\n') line++
    if (sign !== '"') continue
    quoted = !quoted
    if (quoted) opened = line
  }
  return opened
}

function csvSentence(error: unknown, text: string, skipped: number): string {
  const line = error instanceof CsvError && typeof error.lines === 'number' ? error.lines + skipped : null
  const where = line === null ? 'The file' : `Line ${line}`
  switch (error instanceof CsvError ? error.code : '') {
    case 'CSV_QUOTE_NOT_CLOSED':
      return `Line ${lastOpening(text) + skipped}: a quotation mark (") is opened and never closed, so the rest of the file belongs to one cell. Close it, or write a quotation mark inside a text twice ("").`
    case 'CSV_INVALID_CLOSING_QUOTE':
    case 'CSV_NON_TRIMABLE_CHAR_AFTER_CLOSING_QUOTE':
      return `${where}: text follows a closing quotation mark. Write a quotation mark inside a text twice ("").`
    case 'INVALID_OPENING_QUOTE':
      return `${where}: a quotation mark stands inside a cell that doesn’t begin with one. Put the whole cell in quotation marks and write the inner one twice ("").`
    case 'CSV_MAX_RECORD_SIZE':
      return `${where}: one row is longer than ${LIMITS.fieldLength * 20} characters. A quotation mark that is never closed does this.`
    default:
      return `${where} can’t be read as CSV. Save the sheet again as “CSV UTF-8”.`
  }
}
