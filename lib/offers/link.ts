import { timingSafeEqual } from 'node:crypto'
import { hmacHex } from '@/lib/auth/secret'
import { env } from '@/lib/env'

/** The link of a person's letter: it opens what is offered to them for one election, and lets them answer, without
 *  signing in. 16 bytes of an offer's id and 16 of an HMAC over it: nobody guesses one, and a phone reads the square. */

const ID_BYTES = 16
const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/

const proofOf = (offerId: string): Buffer =>
  Buffer.from(hmacHex('offer-link', offerId), 'hex').subarray(0, ID_BYTES)

export const offerToken = (offerId: string): string =>
  Buffer.concat([Buffer.from(offerId.replaceAll('-', ''), 'hex'), proofOf(offerId)]).toString('base64url')

/** The offer's id, or null where the text was changed or shortened. */
export function readOfferToken(text: string): string | null {
  const bytes = /^[A-Za-z0-9_-]{43}$/.test(text) ? Buffer.from(text, 'base64url') : Buffer.alloc(0)
  if (bytes.length !== 2 * ID_BYTES) return null
  const hex = bytes.subarray(0, ID_BYTES).toString('hex')
  const offerId = hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5')
  return UUID.test(offerId) && timingSafeEqual(bytes.subarray(ID_BYTES), proofOf(offerId)) ? offerId : null
}

const base = () => (env().PUBLIC_URL ?? `http://localhost:${env().PORT}`).replace(/\/$/, '')

export const offerAddress = (offerId: string): string => `${base()}/offer/${offerToken(offerId)}`
export const signInAddress = (): string => `${base()}/sign-in`
