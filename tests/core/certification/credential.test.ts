import { generateKeyPairSync, verify } from 'node:crypto'
import type { JWK } from 'jose'
import { beforeAll, describe, expect, it } from 'vitest'
import { buildCredential, publicKeyOf, signCredential, startOfDay } from '@/lib/certification/core/credential'
import { OpenBadgeCredential } from '@/lib/certification/core/credential-shape'
import { verifyCredential } from '@/lib/certification/core/verify-credential'
import { civilDate } from '@/lib/kernel/dates'
import {
  decode,
  ed,
  forge,
  header,
  ISSUER,
  load,
  matchesSchema,
  NOW,
  options,
  parts,
  reasonOf,
  rsa,
  signedExample,
} from './credential-example'

let token: string
let payload: Record<string, unknown>
beforeAll(async () => {
  ;({ token, payload } = await signedExample())
})

describe('a credential that we build', () => {
  it('matches the published Open Badges 3.0 schema, with and without its options', () => {
    for (const variant of [parts, { ...parts, validUntil: null, status: undefined }]) {
      const ok = matchesSchema(buildCredential(variant))
      expect(matchesSchema.errors ?? []).toEqual([])
      expect(ok).toBe(true)
    }
    // The signed payload has registered claims beside it, which the schema lets through.
    expect(matchesSchema(payload)).toBe(true)
  })

  it('names its contexts in the required order: the W3C’s first, Open Badges’ second', () => {
    const wanted = load('spec-examples/basic.json')['@context']
    expect(buildCredential(parts)['@context']).toEqual(wanted)
    const swapped = { ...buildCredential(parts), '@context': [...(wanted as string[])].reverse() }
    expect(matchesSchema(swapped)).toBe(false)
    expect(OpenBadgeCredential.safeParse(swapped).success).toBe(false)
  })

  it('turns civil dates into the instants at which those days begin in the county', () => {
    // New York is four hours behind UTC in summer, five in winter; Phoenix seven all year (IANA time zones).
    expect(startOfDay(civilDate('2026-09-01'), 'America/New_York').toISOString()).toBe(
      '2026-09-01T04:00:00.000Z',
    )
    expect(startOfDay(civilDate('2026-12-01'), 'America/New_York').toISOString()).toBe(
      '2026-12-01T05:00:00.000Z',
    )
    expect(startOfDay(civilDate('2026-09-01'), 'America/Phoenix').toISOString()).toBe(
      '2026-09-01T07:00:00.000Z',
    )
    expect(payload).toMatchObject({ validFrom: '2026-09-01T04:00:00Z', validUntil: '2028-09-01T04:00:00Z' })
    // 1 September 2026 is day 20,697 since 1970: × 86,400 + 4 h.
    expect(payload.nbf).toBe(20_697 * 86_400 + 4 * 3600)
  })

  it('has only the headers and claims that section 8.2 of the standard names', () => {
    expect(decode(token.split('.')[0]!)).toEqual(header)
    expect(payload).toMatchObject({ iss: ISSUER, sub: parts.holderId, jti: parts.id })
    expect(payload.vc).toBeUndefined()
  })

  it.each([
    ['RS256', rsa, 'sha256'],
    ['EdDSA', ed, null],
  ] as const)('verifies with a second JOSE implementation: node:crypto, %s', async (alg, pair, hash) => {
    const signed = await signCredential(buildCredential(parts), pair.privateJwk)
    const [head, body, signature] = signed.split('.') as [string, string, string]
    expect(decode(head).alg).toBe(alg)
    const input = Buffer.from(`${head}.${body}`)
    expect(verify(hash, input, pair.publicKey, Buffer.from(signature, 'base64url'))).toBe(true)
    expect(reasonOf(await verifyCredential(signed, options))).toBe('valid')
    // And the other way: what node:crypto signs, we accept.
    const theirs = forge({ alg, kid: pair.publicJwk.kid }, payload, pair.privateKey)
    expect(reasonOf(await verifyCredential(theirs, options))).toBe('valid')
  })

  it('needs a key with an address, of a kind that verifiers know', async () => {
    const { kid: _kid, ...nameless } = rsa.privateJwk
    await expect(signCredential(buildCredential(parts), nameless)).rejects.toThrow('kid')
    const ec = generateKeyPairSync('ec', { namedCurve: 'P-256' }).privateKey.export({ format: 'jwk' }) as JWK
    await expect(signCredential(buildCredential(parts), { ...ec, kid: 'x:y' })).rejects.toThrow('RSA')
  })
})

describe('keys to publish', () => {
  it('hold no private member (RFC 7518, section 6: d, p, q, dp, dq, qi, oth, k) and still verify', async () => {
    for (const pair of [rsa, ed]) {
      const published = publicKeyOf(pair.privateJwk)
      for (const member of ['d', 'p', 'q', 'dp', 'dq', 'qi', 'oth', 'k'])
        expect(published).not.toHaveProperty(member)
      const signed = await signCredential(buildCredential(parts), pair.privateJwk)
      expect(reasonOf(await verifyCredential(signed, { keys: { keys: [published] }, now: NOW }))).toBe(
        'valid',
      )
    }
    expect(() => publicKeyOf({ kty: 'oct', k: 'AAAA', kid: 'x:y' })).toThrow(RangeError)
  })
})
