import * as fc from 'fast-check'
import type { JWK } from 'jose'
import { beforeAll, describe, expect, it } from 'vitest'
import { REFUSALS, type RefusalReason } from '@/lib/certification/core/verdict'
import { type VerifyOptions, verifyCredential } from '@/lib/certification/core/verify-credential'
import {
  ed,
  encode,
  forge,
  header,
  ISSUER,
  NOW,
  old,
  options,
  pairOf,
  reasonOf,
  rsa,
  signedExample,
} from './credential-example'

/** The instant that all of this is judged at, as key sets write it. */
const seconds = NOW.getTime() / 1000
let token: string
let payload: Record<string, unknown>
beforeAll(async () => {
  ;({ token, payload } = await signedExample())
})

describe('verifying', () => {
  it('says who holds what until when, and no more', async () => {
    expect(await verifyCredential(token, options)).toEqual({
      valid: true,
      holderName: 'Inés Quarrell',
      role: 'check-in',
      serial: 'LM-2026-000123',
      certificate: 'Check-in',
      issuerId: ISSUER,
      issuerName: 'Larkmoor County Election Office',
      validFrom: '2026-09-01T04:00:00Z',
      validUntil: '2028-09-01T04:00:00Z',
      statusChecked: false,
    })
  })

  it('refuses a change of any single character', async () => {
    const step = process.env.TEST_FULL === '1' ? 1 : 6
    const accepted: number[] = []
    // The last characters of each part carry spare bits: always among those tried.
    const dots = [token.indexOf('.'), token.lastIndexOf('.'), token.length]
    for (let i = 0; i < token.length; i++) {
      if (i % step !== 0 && !dots.includes(i + 1) && !dots.includes(i)) continue
      for (const other of [token[i] === 'A' ? 'B' : 'A', token[i] === '_' ? '-' : '_', '.']) {
        const changed = token.slice(0, i) + other + token.slice(i + 1)
        if (changed !== token && (await verifyCredential(changed, options)).valid) accepted.push(i)
      }
    }
    expect(accepted).toEqual([])
  })

  it('says of a changed byte that the text was changed, never that a key was withdrawn or the certificate revoked', async () => {
    const step = process.env.TEST_FULL === '1' ? 1 : 7
    const others = process.env.TEST_FULL === '1' ? [0x01, 0x20, 0x80, 0xff] : [0x01, 0x80]
    /** The sentences that fit a header in which something was changed, whatever it is. */
    const ofHeader: RefusalReason[] = [
      'notACredential',
      'headerNotAllowed',
      'algorithmNotAllowed',
      'unknownKey',
      'signatureInvalid',
    ]
    const parts = token.split('.').map((part) => Buffer.from(part, 'base64url'))
    const said: Set<string>[] = [new Set(), new Set(), new Set()]
    for (const [p, part] of parts.entries())
      for (let i = 0; i < part.length; i += step)
        for (const bits of others) {
          const changed = parts.map((other, j) => (j === p ? Buffer.from(other) : other))
          changed[p]![i]! ^= bits
          const text = changed.map((bytes) => bytes.toString('base64url')).join('.')
          said[p]!.add(reasonOf(await verifyCredential(text, options)))
        }
    expect(ofHeader).toEqual(expect.arrayContaining([...said[0]!]))
    expect([...said[1]!]).toEqual(['signatureInvalid'])
    expect([...said[2]!]).toEqual(['signatureInvalid'])
  })

  it('refuses each spelling of the signature’s last character but the canonical one', async () => {
    const alphabet = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_'
    const spellings = [...alphabet].map((c) => token.slice(0, -1) + c)
    const sameBytes = spellings.filter((t) =>
      Buffer.from(t.split('.')[2]!, 'base64url').equals(Buffer.from(token.split('.')[2]!, 'base64url')),
    )
    // 256 bytes leave 4 spare bits in the last character: 16 spellings of one signature.
    expect(sameBytes.length).toBe(16)
    const verdicts = await Promise.all(spellings.map((t) => verifyCredential(t, options)))
    expect(verdicts.filter((v) => v.valid).length).toBe(1)
  })

  const tried: [RefusalReason, string, () => string | Promise<string>, Partial<VerifyOptions>?][] = [
    ['notACredential', 'not three parts', () => 'hello'],
    ['notACredential', 'an empty signature', () => token.replace(/[^.]*$/, '')],
    ['headerNotAllowed', 'a critical extension', () => forge({ ...header, crit: ['x'] }, payload)],
    ['headerNotAllowed', 'another typ', () => forge({ ...header, typ: 'at+jwt' }, payload)],
    [
      'headerNotAllowed',
      'an embedded private key',
      () => forge({ alg: 'RS256', jwk: rsa.privateJwk }, payload),
    ],
    [
      'algorithmNotAllowed',
      'alg none',
      () => `${encode({ ...header, alg: 'none' })}.${token.split('.')[1]}.AA`,
    ],
    ['algorithmNotAllowed', 'a symmetric alg', () => forge({ ...header, alg: 'HS256' }, payload)],
    [
      'algorithmNotAllowed',
      'an alg that is not the key’s',
      () => forge({ ...header, alg: 'EdDSA' }, payload),
    ],
    [
      'unknownKey',
      'a key rotated out and no longer published',
      () => token,
      { keys: { keys: [ed.publicJwk] } },
    ],
    ['unknownKey', 'no key named', () => forge({ alg: 'RS256' }, payload)],
    [
      'unknownKey',
      'an embedded key of a stranger',
      () => {
        const stranger = pairOf('x:y', 'rsa')
        return forge({ alg: 'RS256', jwk: stranger.publicJwk }, payload, stranger.privateKey)
      },
    ],
    [
      'keyReplaced',
      'a key replaced for good, from that second on',
      () => token,
      { keys: { keys: [{ ...rsa.publicJwk, retired_at: seconds, exp: seconds }] } },
    ],
    [
      'keyWithdrawn',
      'a key replaced and later known as stolen',
      () => token,
      { keys: { keys: [{ ...rsa.publicJwk, exp: seconds, revoked: { revoked_at: seconds } }] } },
    ],
    [
      'keyWithdrawn',
      'a withdrawn key',
      () => token,
      { keys: { keys: [{ ...rsa.publicJwk, revoked: { revoked_at: 1 } }] } },
    ],
    ['signatureInvalid', 'another key under the same name', () => forge(header, payload, old.privateKey)],
    [
      'notAnOpenBadge',
      'no achievement',
      () => forge(header, { ...payload, credentialSubject: { id: 'x:y' } }),
    ],
    ['notAnOpenBadge', 'the older data model’s vc claim', () => forge(header, { iss: ISSUER, vc: payload })],
    [
      'claimsDisagree',
      'another issuer in iss',
      () => forge(header, { ...payload, iss: 'https://other.example' }),
    ],
    ['claimsDisagree', 'another holder in sub', () => forge(header, { ...payload, sub: 'urn:x:1' })],
    ['claimsDisagree', 'no sub', () => forge(header, { ...payload, sub: undefined })],
    ['claimsDisagree', 'another id in jti', () => forge(header, { ...payload, jti: 'urn:x:1' })],
    ['claimsDisagree', 'an earlier nbf', () => forge(header, { ...payload, nbf: 0 })],
    ['claimsDisagree', 'a later exp', () => forge(header, { ...payload, exp: (payload.exp as number) + 1 })],
    ['claimsDisagree', 'validUntil without exp', () => forge(header, { ...payload, exp: undefined })],
    ['wrongIssuer', 'another office than asked about', () => token, { issuerId: 'https://other.example' }],
    ['notYetValid', 'a second before', () => token, { now: new Date('2026-09-01T03:59:59Z') }],
    ['expired', 'the moment it ends', () => token, { now: new Date('2028-09-01T04:00:00Z') }],
    ['statusUnknown', 'no list though one is demanded', () => token, { statusRequired: true }],
  ]
  it.each(tried)('%s: %s', async (reason, _case, make, more) => {
    const verdict = await verifyCredential(await make(), { ...options, ...more })
    expect(reasonOf(verdict)).toBe(reason)
    expect(!verdict.valid && verdict.sentence).toBe(REFUSALS[reason])
  })

  it('holds while its key signs no more, and until the second in which the key ends', async () => {
    const rotated = { ...rsa.publicJwk, retired_at: seconds - 86_400 }
    for (const key of [rotated, { ...rotated, exp: seconds + 1 }])
      expect(reasonOf(await verifyCredential(token, { ...options, keys: { keys: [key] } }))).toBe('valid')
  })

  it('holds on its last second and with its key embedded', async () => {
    expect(
      reasonOf(await verifyCredential(token, { ...options, now: new Date('2028-09-01T03:59:59Z') })),
    ).toBe('valid')
    const embedded = forge(
      { alg: 'RS256', jwk: { kty: 'RSA', n: rsa.publicJwk.n, e: rsa.publicJwk.e } },
      payload,
    )
    expect(reasonOf(await verifyCredential(embedded, options))).toBe('valid')
  })

  it('has a sentence of its own for each refusal, in both languages', () => {
    for (const language of ['en', 'es'] as const) {
      const sentences = Object.values(REFUSALS).map((s) => s[language])
      expect(new Set(sentences).size).toBe(sentences.length)
    }
    const untested = Object.keys(REFUSALS).filter(
      (r) =>
        !tried.some(([reason]) => reason === r) &&
        !['revoked', 'statusListUnusable', 'notOnRecord'].includes(r),
    )
    expect(untested).toEqual([])
  })
})

describe('anything at all as input', () => {
  it('is refused with a reason, never with an exception', async () => {
    const piece = fc.oneof(
      fc.string(),
      fc.json().map((text) => Buffer.from(text).toString('base64url')),
      fc.constant(token.split('.')[0]!),
      fc.constant(encode(header)),
    )
    await fc.assert(
      fc.asyncProperty(fc.array(piece, { maxLength: 4 }), async (pieces) => {
        const verdict = await verifyCredential(pieces.join('.'), options)
        expect(verdict.valid).toBe(false)
      }),
      { numRuns: 300 },
    )
    // Well signed, but any JSON inside.
    await fc.assert(
      fc.asyncProperty(fc.jsonValue(), fc.dictionary(fc.string(), fc.jsonValue()), async (value, more) => {
        for (const content of [
          value,
          { ...payload, ...more, credentialSubject: value },
          { ...payload, validFrom: value },
        ])
          expect((await verifyCredential(forge(header, content), options)).valid).toBe(false)
      }),
      { numRuns: 60 },
    )
  })

  it('is refused where a key in the set is broken', async () => {
    const broken = [
      { kty: 'RSA', kid: header.kid },
      { kty: 'RSA', kid: header.kid, n: '!', e: 'AQAB' },
    ] as JWK[]
    for (const key of broken)
      expect(reasonOf(await verifyCredential(token, { keys: { keys: [key] }, now: NOW }))).toBe(
        'signatureInvalid',
      )
  })
})
