import { timingSafeEqual } from 'node:crypto'
import { hmacHex } from './secret'

/** A small value that a browser keeps for us and can't change: base64url(JSON).HMAC. It can be read, so nothing
 *  secret goes in. `use` keeps a value of one cookie from being accepted in another. */
export function signText(use: string, value: unknown, expiresAt: Date): string {
  const body = Buffer.from(JSON.stringify({ use, value, until: expiresAt.getTime() })).toString('base64url')
  return `${body}.${hmacHex('signed-text', body)}`
}

/** The value, or null where it was changed, is for another use, or is over. */
export function readSignedText<T>(use: string, text: string | undefined, at: Date): T | null {
  const [body, mac] = (text ?? '').split('.')
  if (!body || !mac) return null
  const expected = Buffer.from(hmacHex('signed-text', body))
  const given = Buffer.from(mac)
  if (expected.length !== given.length || !timingSafeEqual(expected, given)) return null
  const parsed = JSON.parse(Buffer.from(body, 'base64url').toString('utf8')) as {
    use: string
    value: T
    until: number
  }
  return parsed.use === use && at.getTime() < parsed.until ? parsed.value : null
}
