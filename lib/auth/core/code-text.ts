import { readableCode } from '@/lib/kernel/readable-code'

export { CODE_ALPHABET, normaliseCode } from '@/lib/kernel/readable-code'

/** 10 letters of 5 bits: 50 bits. */
export const CARD_CODE_LENGTH = 10
export const MAIL_CODE_LENGTH = 8

/** A card's code from random bytes, in two groups: "7K2QD-0MXWP". @throws RangeError with fewer than 10 bytes. */
export function cardCodeFrom(bytes: Uint8Array): string {
  if (bytes.length < CARD_CODE_LENGTH) throw new RangeError(`a card code needs ${CARD_CODE_LENGTH} bytes`)
  return readableCode(bytes.subarray(0, CARD_CODE_LENGTH), CARD_CODE_LENGTH / 2)
}

/** An e-mailed code from a whole number in [0, 10^8): "0417 2296". @throws RangeError outside. */
export function mailCodeFrom(value: number): string {
  if (!Number.isInteger(value) || value < 0 || value >= 10 ** MAIL_CODE_LENGTH)
    throw new RangeError(`a mail code is a whole number below ${10 ** MAIL_CODE_LENGTH}`)
  const digits = String(value).padStart(MAIL_CODE_LENGTH, '0')
  return `${digits.slice(0, 4)} ${digits.slice(4)}`
}
