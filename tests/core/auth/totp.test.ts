import { createHmac } from 'node:crypto'
import { Secret } from 'otpauth'
import { describe, expect, it } from 'vitest'
import { authenticatorAddress, stepOfCode } from '@/lib/auth/core/totp'

/** RFC 6238, Appendix B (values from memory): the secret is the ASCII text below; the SHA-1 rows have 8 digits. A code
 *  of 6 digits is the same number modulo 10^6 (RFC 4226, 5.3), so its last six. */
const RFC_SECRET = Secret.fromLatin1('12345678901234567890').base32
const RFC_ROWS: [seconds: number, code: string][] = [
  [59, '94287082'],
  [1_111_111_109, '07081804'],
  [1_111_111_111, '14050471'],
  [1_234_567_890, '89005924'],
  [2_000_000_000, '69279037'],
  [20_000_000_000, '65353130'],
]

/** RFC 4226, 5.3, written a second time from its text with node's own HMAC. */
function hotp(key: Buffer, counter: number): string {
  const message = Buffer.alloc(8)
  message.writeBigUInt64BE(BigInt(counter))
  const mac = createHmac('sha1', key).update(message).digest()
  const offset = mac[19]! & 15
  return String((mac.readUInt32BE(offset) & 0x7fffffff) % 1e6).padStart(6, '0')
}

describe('a code from an authenticator', () => {
  it.each(RFC_ROWS)('at second %i is that of RFC 6238, Appendix B', (seconds, code) => {
    const step = Math.floor(seconds / 30)
    expect(stepOfCode(RFC_SECRET, code.slice(2), new Date(seconds * 1000))).toBe(step)
    expect(hotp(Buffer.from('12345678901234567890'), step)).toBe(code.slice(2))
  })

  it('is accepted one step early and late, and names the step that it is of', () => {
    const secret = new Secret({ size: 20 })
    const key = Buffer.from(secret.bytes)
    const at = new Date('2028-10-01T12:00:14Z')
    const step = Math.floor(at.getTime() / 30_000)
    for (const near of [-1, 0, 1])
      expect(stepOfCode(secret.base32, hotp(key, step + near), at)).toBe(step + near)
    for (const far of [-3, -2, 2, 3]) expect(stepOfCode(secret.base32, hotp(key, step + far), at)).toBeNull()
  })

  it('may be typed in groups; anything but six digits is none', () => {
    expect(stepOfCode(RFC_SECRET, '287 082', new Date(59_000))).toBe(1)
    for (const bad of ['', '28708', '94287082', 'abcdef'])
      expect(stepOfCode(RFC_SECRET, bad, new Date(59_000))).toBeNull()
  })

  it('comes from an address that says how it is made', () => {
    const address = new URL(authenticatorAddress(RFC_SECRET, 'Our office', 'ana@example.org'))
    expect(address.protocol).toBe('otpauth:')
    expect(Object.fromEntries(address.searchParams)).toMatchObject({
      secret: RFC_SECRET,
      issuer: 'Our office',
      period: '30',
      digits: '6',
      algorithm: 'SHA1',
    })
  })
})
