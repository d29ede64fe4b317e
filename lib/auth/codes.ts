import { randomBytes, randomInt } from 'node:crypto'
import {
  CARD_CODE_LENGTH,
  cardCodeFrom,
  MAIL_CODE_LENGTH,
  mailCodeFrom,
  normaliseCode,
} from './core/code-text'
import { hmacHex } from './secret'

/** What is stored of a code: HMAC-SHA-256 with a key of the installation, so that a stolen table can't be searched.
 *  `accountId` binds a mail code (8 digits only) to its account; card codes are looked up by themselves. */
export const hashOfCode = (code: string, accountId = ''): string =>
  hmacHex('code-hash', `${accountId}\n${normaliseCode(code)}`)

/** A new printed card's code. Pass bytes only for demonstration data. */
export const newCardCode = (bytes: Uint8Array = randomBytes(CARD_CODE_LENGTH)): string => cardCodeFrom(bytes)

/** A new one-time code for an e-mail. */
export const newMailCode = (): string => mailCodeFrom(randomInt(10 ** MAIL_CODE_LENGTH))
