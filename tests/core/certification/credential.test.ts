import { generateKeyPairSync, type KeyObject, sign, verify } from 'node:crypto'
import { readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { gzipSync } from 'node:zlib'
import Ajv2019 from 'ajv/dist/2019'
import addFormats from 'ajv-formats'
import * as fc from 'fast-check'
import type { JWK } from 'jose'
import { beforeAll, describe, expect, it } from 'vitest'
import {
  buildCredential,
  type CredentialParts,
  publicKeyOf,
  signCredential,
  startOfDay,
} from '@/lib/certification/core/credential'
import { OpenBadgeCredential } from '@/lib/certification/core/credential-shape'
import { bitAt, buildStatusList, decodeBits, encodeBits } from '@/lib/certification/core/status-list'
import { REFUSALS, type RefusalReason, type Verdict } from '@/lib/certification/core/verdict'
import { type VerifyOptions, verifyCredential } from '@/lib/certification/core/verify-credential'
import { civilDate } from '@/lib/kernel/dates'

const folder = 'tests/reference/openbadges'
const load = (file: string): Record<string, unknown> =>
  JSON.parse(readFileSync(path.join(folder, file), 'utf8'))

/** The published JSON schema, run by a validator that isn't ours. */
const { $schema: _draft, ...published } = load('schema/ob_v3p0_achievementcredential_schema.json')
const ajv = new Ajv2019({ strict: false, allErrors: true })
addFormats(ajv)
const matchesSchema = ajv.compile(published)

const ISSUER = 'https://larkmoor.example/issuer'
const LIST = 'https://larkmoor.example/status/1'
const parts: CredentialParts = {
  id: 'urn:uuid:0b2f4c0e-6f5e-4c55-9a54-0d5d1f3c1a11',
  serial: 'LM-2026-000123',
  issuer: { id: ISSUER, name: 'Larkmoor County Election Office', url: 'https://larkmoor.example' },
  holderId: 'urn:uuid:5b0e0d2c-7e0e-49e8-8b0f-4b1a1a2b3c4d',
  holderName: 'Inés Quarrell',
  achievement: {
    id: 'https://larkmoor.example/certificates/check-in/1',
    name: 'Check-in',
    description: 'May work the check-in table.',
    criteria: 'Lesson, quiz and check-off within 24 months.',
  },
  role: 'check-in',
  validFrom: civilDate('2026-09-01'),
  validUntil: civilDate('2028-09-01'),
  timeZone: 'America/New_York',
  status: { listUrl: LIST, index: 4711 },
}

interface Pair {
  privateJwk: JWK
  publicJwk: JWK
  publicKey: KeyObject
  privateKey: KeyObject
}
const pairOf = (kid: string, type: 'rsa' | 'ed25519'): Pair => {
  const { publicKey, privateKey } =
    type === 'rsa' ? generateKeyPairSync('rsa', { modulusLength: 2048 }) : generateKeyPairSync('ed25519')
  return {
    privateJwk: { ...(privateKey.export({ format: 'jwk' }) as JWK), kid },
    publicJwk: { ...(publicKey.export({ format: 'jwk' }) as JWK), kid },
    publicKey,
    privateKey,
  }
}

const rsa = pairOf(`${ISSUER}/keys#2026`, 'rsa')
const old = pairOf(`${ISSUER}/keys#2024`, 'rsa')
const ed = pairOf(`${ISSUER}/keys#ed`, 'ed25519')
const NOW = new Date('2026-11-03T12:00:00Z')
const options: VerifyOptions = { keys: { keys: [old.publicJwk, rsa.publicJwk, ed.publicJwk] }, now: NOW }

const decode = (part: string) => JSON.parse(Buffer.from(part, 'base64url').toString('utf8'))
const encode = (value: unknown) => Buffer.from(JSON.stringify(value)).toString('base64url')
/** Signs any header and payload with node:crypto alone, so that malformed ones can be tried. */
const forge = (header: unknown, payload: unknown, key: KeyObject = rsa.privateKey) => {
  const input = `${encode(header)}.${encode(payload)}`
  return `${input}.${sign(key.asymmetricKeyType === 'rsa' ? 'sha256' : null, Buffer.from(input), key).toString('base64url')}`
}
const header = { alg: 'RS256', kid: rsa.publicJwk.kid, typ: 'JWT' }
const reasonOf = (verdict: Verdict) => (verdict.valid ? 'valid' : verdict.reason)

let token: string
let payload: Record<string, unknown>
beforeAll(async () => {
  token = await signCredential(buildCredential(parts), rsa.privateJwk)
  payload = decode(token.split('.')[1]!)
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
    const step = process.env.TEST_FULL === '1' ? 1 : 3
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
      (r) => !tried.some(([reason]) => reason === r) && !['revoked', 'statusListUnusable'].includes(r),
    )
    expect(untested).toEqual([])
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

describe('status lists', () => {
  const listOf = (revokedIndexes: number[], more: object = {}) =>
    signCredential(
      {
        ...buildStatusList({
          id: LIST,
          issuerId: ISSUER,
          issuedAt: new Date('2026-11-01T00:00:00Z'),
          validUntil: new Date('2026-11-08T00:00:00Z'),
          revokedIndexes,
        }),
        ...more,
      },
      rsa.privateJwk,
    )
  const against = async (list: string, more: Partial<VerifyOptions> = {}) =>
    verifyCredential(token, { ...options, statusLists: { [LIST]: list }, statusRequired: true, ...more })

  it('refuses a revoked serial and accepts its neighbours', async () => {
    expect(await against(await listOf([4711]))).toMatchObject({ valid: false, reason: 'revoked' })
    expect(await against(await listOf([4710, 4712]))).toMatchObject({ valid: true, statusChecked: true })
  })

  it('trusts only a list that is the office’s own, this one, in date, for revocation, and whole', async () => {
    const { credentialSubject } = buildStatusList({
      id: LIST,
      issuerId: ISSUER,
      issuedAt: NOW,
      validUntil: NOW,
      revokedIndexes: [],
    })
    const bomb = `u${gzipSync(new Uint8Array(64 * 1024 * 1024)).toString('base64url')}`
    const lists = [
      (await listOf([])).replace(/.$/, (c) => (c === 'A' ? 'Q' : 'A')),
      await listOf([], { id: `${LIST}2` }),
      await listOf([], { issuer: 'https://other.example' }),
      await listOf([], { credentialSubject: { ...credentialSubject, statusPurpose: 'suspension' } }),
      await listOf([], { credentialSubject: { ...credentialSubject, encodedList: encodeBits([], 100_000) } }),
      await listOf([], { credentialSubject: { ...credentialSubject, encodedList: 'uAAAA' } }),
      await listOf([], { credentialSubject: { ...credentialSubject, encodedList: bomb } }),
    ]
    for (const list of lists) expect(reasonOf(await against(list))).toBe('statusListUnusable')
    const late = await against(await listOf([]), { now: new Date('2026-11-08T00:00:00Z') })
    expect(late).toMatchObject({ reason: 'statusListUnusable', detail: 'it is out of date' })
  })

  it('reads the bits of the published test list: entry 23 revoked, as its credential says', () => {
    const list = load('fixtures/bit-string-list/testlist') as { credentialSubject: { encodedList: string } }
    const revoked = load('fixtures/bit-string-list/credential-status-revoked.json') as {
      credentialStatus: { statusListIndex: number }
    }
    const bits = decodeBits(list.credentialSubject.encodedList)
    expect(revoked.credentialStatus.statusListIndex).toBe(23)
    expect(bits.length * 8).toBe(131_072)
    const set = Array.from({ length: bits.length * 8 }, (_, i) => i).filter((i) => bitAt(bits, i))
    expect(set).toEqual([23])
    expect(decodeBits(encodeBits([23]))).toEqual(bits)
  })

  it('is at least 131,072 entries long, counted from the left', () => {
    const bits = decodeBits(encodeBits([0, 131_071]))
    expect([bits.length, bits[0], bits.at(-1)]).toEqual([16_384, 0b1000_0000, 0b0000_0001])
    expect(() => encodeBits([131_072])).toThrow(RangeError)
    expect(bitAt(bits, 131_072)).toBeUndefined()
  })
})

/** Fixtures of the public validator that the standard's body keeps. Each is wrapped in a JWT that is signed well, so
 *  that only its content decides. */
describe('the published fixtures', () => {
  const recorded = load('schema_vs_fixtures.json') as Record<string, string>
  const files = readdirSync(path.join(folder, 'fixtures')).filter((f) => f.endsWith('.json'))
  const wrap = (credential: Record<string, unknown>) => {
    const issuer = credential.issuer as { id?: string } | string | undefined
    const seconds = (v: unknown) => (typeof v === 'string' ? Math.floor(Date.parse(v) / 1000) : undefined)
    return forge(header, {
      ...credential,
      iss: typeof issuer === 'string' ? issuer : issuer?.id,
      sub: (credential.credentialSubject as { id?: string } | undefined)?.id,
      jti: credential.id,
      nbf: seconds(credential.validFrom),
      exp: seconds(credential.validUntil),
    })
  }

  /** Where our verdict and the JSON schema part, and why. Embedded proofs we don't read at all: the JWT is the proof.
   *  So the fixtures named simple-err-proof-… (a proof value or method that is wrong) pass both the schema and us
   *  once they are signed as a JWT, and are refused by a verifier of embedded proofs only. */
  const DISAGREE: Record<string, { ours: string; why: string }> = {
    'simple-err-expired.json': { ours: 'expired', why: 'a schema knows no clock' },
    'simple-did-web-method.json': {
      ours: 'valid',
      why: 'its embedded proof is one object where the schema asks for an array; its own name calls it valid',
    },
    'simple-err-proof-method.json': {
      ours: 'valid',
      why: 'the schema refuses it for the same one-object proof, its name for a wrong method inside that proof',
    },
  }

  it('are told apart by the schema as the reference recorded', () => {
    for (const file of files)
      expect([file, matchesSchema(load(`fixtures/${file}`))]).toEqual([file, recorded[file] === 'valid'])
  })

  it.each(files)('%s', async (file) => {
    const credential = load(`fixtures/${file}`)
    const verdict = await verifyCredential(wrap(credential), options)
    const expected = DISAGREE[file]?.ours ?? (matchesSchema(credential) ? 'valid' : 'notAnOpenBadge')
    expect(reasonOf(verdict), verdict.valid ? file : `${verdict.detail}`).toBe(expected)
  })

  it('accepts the basic example of the standard', async () => {
    expect(reasonOf(await verifyCredential(wrap(load('spec-examples/basic.json')), options))).toBe('valid')
  })

  it('refuses the revoked credential by the published list, signed again by us', async () => {
    const credential = load('fixtures/bit-string-list/credential-status-revoked.json')
    const list = load('fixtures/bit-string-list/testlist')
    const url = (credential.credentialStatus as { statusListCredential: string }).statusListCredential
    // The list's own id is an example address; a verifier that looks it up by address must see the same one.
    const statusLists = { [url]: wrap({ ...list, id: url }) }
    expect(reasonOf(await verifyCredential(wrap(credential), { ...options, statusLists }))).toBe('revoked')
  })
})
