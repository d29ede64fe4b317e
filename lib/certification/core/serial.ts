import { CODE_ALPHABET, inGroups, normaliseCode, readableCode } from '@/lib/kernel/readable-code'

/** 12 signs of 5 bits: 60 bits. */
export const SERIAL_LENGTH = 12
const GROUP = 4

/** A certificate's number from 12 random bytes: "7K2Q-D0MX-WP3H". @throws RangeError for another length. */
export function serialFrom(bytes: Uint8Array): string {
  if (bytes.length !== SERIAL_LENGTH) throw new RangeError(`a serial needs ${SERIAL_LENGTH} bytes`)
  return readableCode(bytes, GROUP)
}

/** A number as somebody typed it, in its printed form; null where it can't be one. */
export function readSerial(typed: string): string | null {
  const signs = normaliseCode(typed.slice(0, 100))
  if (signs.length !== SERIAL_LENGTH || ![...signs].every((sign) => CODE_ALPHABET.includes(sign))) return null
  return inGroups(signs, GROUP)
}
