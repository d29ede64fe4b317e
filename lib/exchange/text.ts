import { UnreadableFile } from './table'

const BOMS: [string, number[]][] = [
  ['utf-8', [0xef, 0xbb, 0xbf]],
  ['utf-16le', [0xff, 0xfe]],
  ['utf-16be', [0xfe, 0xff]],
]

/** The character set that a byte-order mark names, and the mark's length. */
export function bomOf(bytes: Uint8Array): { encoding: string; length: number } | null {
  for (const [encoding, mark] of BOMS)
    if (mark.every((byte, i) => bytes[i] === byte)) return { encoding, length: mark.length }
  return null
}

/** Bytes as text: by the byte-order mark, else UTF-8, else windows-1252 (what spreadsheets in the US save as plain
 *  CSV), which is noted. @throws UnreadableFile for what is no text. */
export function decodeText(bytes: Uint8Array): { text: string; note: string | null } {
  const bom = bomOf(bytes)
  if (bom?.encoding.startsWith('utf-16') && bytes.length % 2 === 1)
    throw new UnreadableFile(
      'The file says that it is UTF-16 but ends in the middle of a character: it may have been cut off. Save or download it again.',
    )
  const strict = (encoding: string, from: number) =>
    new TextDecoder(encoding, { fatal: true, ignoreBOM: true }).decode(bytes.subarray(from))
  let read: { text: string; note: string | null }
  try {
    read = { text: strict(bom?.encoding ?? 'utf-8', bom?.length ?? 0), note: null }
  } catch {
    if (bom)
      throw new UnreadableFile(
        `The file begins as ${bom.encoding.toUpperCase()} but has characters that are not. Save it again as “CSV UTF-8”.`,
      )
    read = {
      text: new TextDecoder('windows-1252').decode(bytes),
      note: 'The file is not in UTF-8; it was read as windows-1252. Look at names with accents (José, Muñoz); if they are wrong, save it as “CSV UTF-8”.',
    }
  }
  const control = CONTROL.exec(read.text)
  if (control) {
    const line = read.text.slice(0, control.index).split('\n').length
    throw new UnreadableFile(
      `Line ${line} holds a control character (number ${read.text.charCodeAt(control.index)}): this is no plain text. Save the sheet as “CSV UTF-8” or as .xlsx.`,
    )
  }
  return read
}

// biome-ignore lint/suspicious/noControlCharactersInRegex: this is what it looks for
const CONTROL = /[\u0000-\u0008\u000b\u000e-\u001f]/
