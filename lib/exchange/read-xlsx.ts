import type { Readable } from 'node:stream'
import readXlsxFile from 'read-excel-file/node'
import { SaxesParser } from 'saxes'
import { type Entry, fromBufferPromise, type ZipFile } from 'yauzl'
import { LIMITS, type Table, toTable, UnreadableFile } from './table'

const MB = 1024 * 1024
/** Entries smaller than this may be as dense as they like. */
const SMALL_ENTRY = MB

const BROKEN =
  'The workbook can’t be unpacked: it is damaged or was cut off. Open it in your spreadsheet program and save it again as .xlsx.'
const TOO_DENSE =
  'The workbook unpacks to far more than it says or than a sheet needs, which is how harmful files are made. Copy the rows to a new workbook and save that.'

/** Looks at the archive before anything is unpacked: how many entries, how large, how dense; then unpacks each sheet's
 *  XML once, piece by piece, counting bytes against what was declared, and looks at cell addresses and document types.
 *  @throws UnreadableFile */
async function inspect(bytes: Buffer): Promise<void> {
  let zip: ZipFile
  try {
    zip = await fromBufferPromise(bytes, { lazyEntries: true, validateEntrySizes: true })
  } catch {
    throw new UnreadableFile(BROKEN)
  }
  if (zip.entryCount > LIMITS.zipEntries) throw new UnreadableFile(TOO_DENSE)
  const entries: Entry[] = []
  try {
    for await (const entry of zip.eachEntry()) entries.push(entry)
  } catch {
    throw new UnreadableFile(BROKEN)
  }
  const unpacked = entries.reduce((sum, entry) => sum + entry.uncompressedSize, 0)
  if (unpacked > LIMITS.unpackedBytes) throw new UnreadableFile(TOO_DENSE)
  for (const entry of entries)
    if (
      entry.uncompressedSize > SMALL_ENTRY &&
      entry.uncompressedSize > LIMITS.zipRatio * Math.max(1, entry.compressedSize)
    )
      throw new UnreadableFile(TOO_DENSE)
  if (!entries.some((entry) => /^xl\/workbook\.xml$/i.test(entry.fileName)))
    throw new UnreadableFile(
      'This is a ZIP archive but no Excel workbook (.xlsx). Unpack it and bring in the file inside, or save the sheet as .xlsx.',
    )
  for (const entry of entries) {
    if (!/\.(xml|rels)$/i.test(entry.fileName)) continue
    if (entry.isEncrypted()) throw new UnreadableFile(PROTECTED)
    let stream: Readable
    try {
      stream = await zip.openReadStreamPromise(entry)
    } catch {
      throw new UnreadableFile(BROKEN)
    }
    await inspectXml(stream, /^xl\/worksheets\/[^/]+\.xml$/i.test(entry.fileName))
  }
}

const PROTECTED =
  'The workbook is protected with a password. Save a copy without a password, or save the sheet as “CSV UTF-8”.'

async function inspectXml(stream: Readable, isSheet: boolean): Promise<void> {
  const parser = new SaxesParser({ position: false })
  parser.on('error', () => {
    throw new UnreadableFile(BROKEN)
  })
  parser.on('doctype', () => {
    throw new UnreadableFile(
      'The workbook holds a document type with entities, which no spreadsheet program writes. Copy the rows to a new workbook and save that.',
    )
  })
  if (isSheet)
    parser.on('opentag', (tag) => {
      if (tag.name !== 'c' && tag.name !== 'x:c') return
      const address = /^([A-Z]{1,3})(\d{1,7})$/.exec(String(tag.attributes.r ?? 'A1'))
      if (!address) throw new UnreadableFile(BROKEN)
      const column = [...address[1]!].reduce((n, letter) => n * 26 + letter.charCodeAt(0) - 64, 0)
      if (column > LIMITS.columns || Number(address[2]) > LIMITS.rows + 1)
        throw new UnreadableFile(
          `A sheet has something in cell ${address[0]}; ${LIMITS.columns} columns and ${LIMITS.rows} rows are the most. Delete what stands far outside, or copy the rows to a new workbook.`,
        )
    })
  const decoder = new TextDecoder('utf-8', { fatal: true })
  try {
    for await (const piece of stream) parser.write(decoder.decode(piece as Buffer, { stream: true }))
    parser.write(decoder.decode()).close()
  } catch (error) {
    throw error instanceof UnreadableFile ? error : new UnreadableFile(BROKEN)
  }
}

/** A cell as text: a date as a civil date, yes or no, a number without an exponent. */
function cellText(value: unknown): string {
  if (value === null || value === undefined) return ''
  if (value instanceof Date) {
    if (Number.isNaN(value.getTime())) return ''
    const text = value.toISOString()
    return text.endsWith('T00:00:00.000Z') ? text.slice(0, 10) : text.slice(0, 16).replace('T', ' ')
  }
  if (typeof value === 'boolean') return value ? 'yes' : 'no'
  return String(value)
}

/** The first sheet of an Excel workbook (.xlsx) that holds anything. Formulas count as the values last worked out.
 *  @throws UnreadableFile */
export async function readXlsx(bytes: Buffer): Promise<Table> {
  if (bytes.length > LIMITS.tableBytes)
    throw new UnreadableFile(
      `The workbook is larger than ${LIMITS.tableBytes / MB} MB. Delete columns and pictures that you don’t need.`,
    )
  await inspect(bytes)
  let sheets: Awaited<ReturnType<typeof readXlsxFile>>
  try {
    sheets = await readXlsxFile(bytes, { trim: false })
  } catch {
    throw new UnreadableFile(BROKEN)
  }
  const filled = sheets.filter((sheet) =>
    sheet.data.some((row) => row.some((cell) => cellText(cell).trim() !== '')),
  )
  const [first] = filled
  if (!first)
    throw new UnreadableFile('The workbook has no filled sheet. The first row must name the columns.')
  const notes =
    filled.length > 1
      ? [
          `Only the sheet “${first.sheet.slice(0, 60)}” was read; ${filled.length - 1} more ${filled.length === 2 ? 'is' : 'are'} filled.`,
        ]
      : []
  const records = first.data.map((row) => row.map(cellText))
  return toTable('xlsx', records, notes)
}
