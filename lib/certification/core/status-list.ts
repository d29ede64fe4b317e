import { gunzipSync, gzipSync } from 'node:zlib'
import { type StatusListCredential, VC_CONTEXT } from './credential-shape'

/** Entries in a list: the standard's least, so that one entry hides among many (131,072 = 16 KiB of bits). */
export const STATUS_LIST_SIZE = 131_072
/** A list may not unfold to more than this: a small file that unfolds to a huge one is refused. */
const MOST_BYTES = 16 * 1024 * 1024

/** Where a certificate's number in sequence stands: the list, counted from 1, and the entry in it. An odd multiplier
 *  visits each entry of a list once, in an order that doesn't show who was certified next to whom. */
export const statusPlace = (number: number): { list: number; index: number } => ({
  list: Math.floor(number / STATUS_LIST_SIZE) + 1,
  index: ((number % STATUS_LIST_SIZE) * 40_503) % STATUS_LIST_SIZE,
})

/** The sequence numbers that stand in a list: from the first until before the second. */
export const statusRange = (list: number): [from: number, until: number] => [
  (list - 1) * STATUS_LIST_SIZE,
  list * STATUS_LIST_SIZE,
]

/** Bits as the standard encodes them: `u` + base64url of gzip; entry 0 is the leftmost bit of the first byte.
 *  Source: W3C Bitstring Status List 1.0, bitstring generation. @throws RangeError for an index outside. */
export function encodeBits(setIndexes: Iterable<number>, size = STATUS_LIST_SIZE): string {
  const bytes = new Uint8Array(Math.ceil(size / 8))
  for (const index of setIndexes) {
    if (!Number.isInteger(index) || index < 0 || index >= size)
      throw new RangeError(`status index must be a whole number from 0 to ${size - 1}, not ${index}`)
    bytes[index >> 3]! |= 0x80 >> (index & 7)
  }
  return `u${gzipSync(bytes, { level: 9 }).toString('base64url')}`
}

/** @throws RangeError where the text is not such a list. */
export function decodeBits(encodedList: string): Uint8Array {
  if (!/^u[A-Za-z0-9_-]+$/.test(encodedList)) throw new RangeError('the status list is not base64url')
  try {
    return gunzipSync(Buffer.from(encodedList.slice(1), 'base64url'), { maxOutputLength: MOST_BYTES })
  } catch (cause) {
    throw new RangeError('the status list does not unpack', { cause })
  }
}

/** One entry; `undefined` beyond the end of the list. */
export const bitAt = (bytes: Uint8Array, index: number): boolean | undefined => {
  const byte = bytes[index >> 3]
  return byte === undefined || index < 0 ? undefined : (byte & (0x80 >> (index & 7))) !== 0
}

export interface StatusListParts {
  /** Where the list is published; certificates name it. */
  id: string
  issuerId: string
  issuedAt: Date
  /** After this a verifier must fetch it anew. */
  validUntil: Date
  revokedIndexes: Iterable<number>
}

/** An unsigned status list credential for revocation. */
export const buildStatusList = (parts: StatusListParts): StatusListCredential => ({
  '@context': [VC_CONTEXT],
  id: parts.id,
  type: ['VerifiableCredential', 'BitstringStatusListCredential'],
  issuer: parts.issuerId,
  validFrom: wholeSecond(parts.issuedAt),
  validUntil: wholeSecond(parts.validUntil),
  credentialSubject: {
    id: `${parts.id}#list`,
    type: 'BitstringStatusList',
    statusPurpose: 'revocation',
    encodedList: encodeBits(parts.revokedIndexes),
  },
})

/** An instant as the credentials write it: UTC, no fraction (a JWT's dates are whole seconds). */
export const wholeSecond = (instant: Date): string =>
  `${new Date(Math.floor(instant.getTime() / 1000) * 1000).toISOString().slice(0, 19)}Z`
