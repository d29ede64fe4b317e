/** Crockford's base 32: no I, L, O or U, so that a code read from paper can hardly be misread.
 *  Source: D. Crockford, "Base 32". */
export const CODE_ALPHABET = '0123456789ABCDEFGHJKMNPQRSTVWXYZ'

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

/** Signs of 5 bits, in groups with dashes between: a byte gives one sign; 256 is a multiple of 32, so every sign is
 *  equally likely. */
export const readableCode = (bytes: Uint8Array, groupLength: number): string =>
  inGroups([...bytes].map((byte) => CODE_ALPHABET[byte & 31]!).join(''), groupLength)

export const inGroups = (signs: string, groupLength: number): string =>
  signs.match(new RegExp(`.{1,${groupLength}}`, 'g'))?.join('-') ?? ''
