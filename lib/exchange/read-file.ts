import { readCsv } from './read-csv'
import { readVip, type VipFile } from './read-vip'
import { readXlsx } from './read-xlsx'
import { LIMITS, type Table, UnreadableFile } from './table'

export type FileRead = { kind: 'table'; table: Table } | { kind: 'vip'; vip: VipFile }

/** What a file is, by its first bytes; its name tells nothing. */
export function formatOf(first: Uint8Array): 'xlsx' | 'xml' | 'csv' {
  if (first[0] === 0x50 && first[1] === 0x4b) return 'xlsx'
  if (first[0] === 0xd0 && first[1] === 0xcf && first[2] === 0x11 && first[3] === 0xe0)
    throw new UnreadableFile(
      'This is an old workbook (.xls) or one with a password. Save it as .xlsx without a password, or as “CSV UTF-8”.',
    )
  if (first[0] === 0x25 && first[1] === 0x50 && first[2] === 0x44)
    throw new UnreadableFile(
      'This is a PDF. Bring in the table that it was made from, as .xlsx or “CSV UTF-8”.',
    )
  const start = first.subarray(0, 400).filter((byte) => byte !== 0 && byte < 0x80)
  return /^\s*<(\?xml|!DOCTYPE|!--|[A-Za-z])/.test(new TextDecoder().decode(start)) ? 'xml' : 'csv'
}

/** Reads a file that comes in pieces: XML as a stream, tables as a whole. `onBytes` is told how far it is.
 *  @throws UnreadableFile */
export async function readFile(
  pieces: AsyncIterable<Uint8Array>,
  onBytes: (bytes: number) => void = () => undefined,
): Promise<FileRead> {
  const stream = pieces[Symbol.asyncIterator]()
  const first = await stream.next()
  if (first.done || first.value.length === 0)
    throw new UnreadableFile('The file is empty. Choose the file again; if it is right, save it once more.')
  const format = formatOf(first.value)
  async function* all(): AsyncGenerator<Uint8Array> {
    yield first.value as Uint8Array
    for (let next = await stream.next(); !next.done; next = await stream.next()) yield next.value
  }
  if (format === 'xml') return { kind: 'vip', vip: await readVip(all(), onBytes) }
  const parts: Uint8Array[] = []
  let bytes = 0
  for await (const piece of all()) {
    bytes += piece.length
    if (bytes > LIMITS.tableBytes)
      throw new UnreadableFile(
        `The file is larger than ${LIMITS.tableBytes / 1024 / 1024} MB. Delete columns that you don’t need, or split it.`,
      )
    parts.push(piece)
    onBytes(bytes)
  }
  const whole = Buffer.concat(parts)
  return { kind: 'table', table: format === 'xlsx' ? await readXlsx(whole) : readCsv(whole) }
}
