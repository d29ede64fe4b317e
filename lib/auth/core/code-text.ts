/** Crockford's base 32: no I, L, O or U, so that a code read from paper can hardly be misread.
 *  Source: D. Crockford, "Base 32". */
export const CODE_ALPHABET = '0123456789ABCDEFGHJKMNPQRSTVWXYZ'

/** 10 letters of 5 bits: 50 bits. */
export const CARD_CODE_LENGTH = 10
export const MAIL_CODE_LENGTH = 8

/** A typed code as it is compared: upper case, without spaces, dashes and dots, with the letters that are not in the
 *  alphabet read as the sign that they look like (O→0, I and L→1 as Crockford says; U→V is our own). */
export const normaliseCode = (typed: string): string =>
  typed
    .normalize('NFKC')
    .toUpperCase()
    .replace(/[\s\p{Pd}._]/gu, '')
    .replace(/O/g, '0')
    .replace(/[IL]/g, '1')
    .replace(/U/g, 'V')

/** A card's code from random bytes, in two groups: "7K2QD-0MXWP". Each byte gives one sign; 256 is a multiple of 32,
 *  so every sign is equally likely. @throws RangeError with fewer than 10 bytes. */
export function cardCodeFrom(bytes: Uint8Array): string {
  if (bytes.length < CARD_CODE_LENGTH) throw new RangeError(`a card code needs ${CARD_CODE_LENGTH} bytes`)
  const signs = [...bytes.subarray(0, CARD_CODE_LENGTH)].map((byte) => CODE_ALPHABET[byte & 31]!)
  return `${signs.slice(0, 5).join('')}-${signs.slice(5).join('')}`
}

/** An e-mailed code from a whole number in [0, 10^8): "0417 2296". @throws RangeError outside. */
export function mailCodeFrom(value: number): string {
  if (!Number.isInteger(value) || value < 0 || value >= 10 ** MAIL_CODE_LENGTH)
    throw new RangeError(`a mail code is a whole number below ${10 ** MAIL_CODE_LENGTH}`)
  const digits = String(value).padStart(MAIL_CODE_LENGTH, '0')
  return `${digits.slice(0, 4)} ${digits.slice(4)}`
}
