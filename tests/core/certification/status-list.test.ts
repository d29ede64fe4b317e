import { gzipSync } from 'node:zlib'
import { beforeAll, describe, expect, it } from 'vitest'
import { signCredential } from '@/lib/certification/core/credential'
import { bitAt, buildStatusList, decodeBits, encodeBits } from '@/lib/certification/core/status-list'
import { type VerifyOptions, verifyCredential } from '@/lib/certification/core/verify-credential'
import { ISSUER, LIST, load, NOW, options, reasonOf, rsa, signedExample } from './credential-example'

let token: string
beforeAll(async () => {
  ;({ token } = await signedExample())
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
