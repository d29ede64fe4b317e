import { readdirSync } from 'node:fs'
import path from 'node:path'
import { describe, expect, it } from 'vitest'
import { verifyCredential } from '@/lib/certification/core/verify-credential'
import { folder, forge, header, load, matchesSchema, options, reasonOf } from './credential-example'

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
