import { generateKeyPairSync, type KeyObject, sign } from 'node:crypto'
import { readFileSync } from 'node:fs'
import path from 'node:path'
import Ajv2019 from 'ajv/dist/2019'
import addFormats from 'ajv-formats'
import type { JWK } from 'jose'
import { buildCredential, type CredentialParts, signCredential } from '@/lib/certification/core/credential'
import type { Verdict } from '@/lib/certification/core/verdict'
import type { VerifyOptions } from '@/lib/certification/core/verify-credential'
import { civilDate } from '@/lib/kernel/dates'

export const folder = 'tests/reference/openbadges'
export const load = (file: string): Record<string, unknown> =>
  JSON.parse(readFileSync(path.join(folder, file), 'utf8'))

/** The published JSON schema, run by a validator that isn't ours. */
const { $schema: _draft, ...published } = load('schema/ob_v3p0_achievementcredential_schema.json')
const ajv = new Ajv2019({ strict: false, allErrors: true })
addFormats(ajv)
export const matchesSchema = ajv.compile(published)

export const ISSUER = 'https://larkmoor.example/issuer'
export const LIST = 'https://larkmoor.example/status/1'
export const parts: CredentialParts = {
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

export interface Pair {
  privateJwk: JWK
  publicJwk: JWK
  publicKey: KeyObject
  privateKey: KeyObject
}
export const pairOf = (kid: string, type: 'rsa' | 'ed25519'): Pair => {
  const { publicKey, privateKey } =
    type === 'rsa' ? generateKeyPairSync('rsa', { modulusLength: 2048 }) : generateKeyPairSync('ed25519')
  return {
    privateJwk: { ...(privateKey.export({ format: 'jwk' }) as JWK), kid },
    publicJwk: { ...(publicKey.export({ format: 'jwk' }) as JWK), kid },
    publicKey,
    privateKey,
  }
}

export const rsa = pairOf(`${ISSUER}/keys#2026`, 'rsa')
export const old = pairOf(`${ISSUER}/keys#2024`, 'rsa')
export const ed = pairOf(`${ISSUER}/keys#ed`, 'ed25519')
export const NOW = new Date('2026-11-03T12:00:00Z')
export const options: VerifyOptions = {
  keys: { keys: [old.publicJwk, rsa.publicJwk, ed.publicJwk] },
  now: NOW,
}

export const decode = (part: string) => JSON.parse(Buffer.from(part, 'base64url').toString('utf8'))
export const encode = (value: unknown) => Buffer.from(JSON.stringify(value)).toString('base64url')
/** Signs any header and payload with node:crypto alone, so that malformed ones can be tried. */
export const forge = (header: unknown, payload: unknown, key: KeyObject = rsa.privateKey) => {
  const input = `${encode(header)}.${encode(payload)}`
  return `${input}.${sign(key.asymmetricKeyType === 'rsa' ? 'sha256' : null, Buffer.from(input), key).toString('base64url')}`
}
export const header = { alg: 'RS256', kid: rsa.publicJwk.kid, typ: 'JWT' }
export const reasonOf = (verdict: Verdict) => (verdict.valid ? 'valid' : verdict.reason)

/** A well signed certificate, and what is inside. */
export async function signedExample(): Promise<{ token: string; payload: Record<string, unknown> }> {
  const token = await signCredential(buildCredential(parts), rsa.privateJwk)
  return { token, payload: decode(token.split('.')[1]!) }
}
