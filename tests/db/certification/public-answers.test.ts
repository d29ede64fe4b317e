import { afterEach, describe, expect, it, vi } from 'vitest'
import { GET as getKeySet } from '@/app/(public)/.well-known/certificate-keys/[county]/route'
import { GET as getKey } from '@/app/(public)/issuers/[county]/keys/[key]/route'
import { GET as getProfile } from '@/app/(public)/issuers/[county]/route'
import { GET as getStatusList } from '@/app/(public)/issuers/[county]/status/[list]/route'
import { getCredential } from '@/lib/certification/commands-credential'
import { revokeCertificate } from '@/lib/certification/commands-revoke'
import { listCertificates } from '@/lib/certification/queries-certificates'
import { setEnv } from '@/lib/env'
import { systemClock } from '@/lib/kernel/clock'
import { decode } from '@/tests/core/certification/credential-example'
import { useDatabase } from '@/tests/support/database'
import { makeQuizCounty, pass } from './quiz-county'

useDatabase()
setEnv({ PUBLIC_URL: 'https://office.example' })
afterEach(() => vi.restoreAllMocks())

const ask = (tag?: string) =>
  new Request('https://office.example/', tag ? { headers: { 'if-none-match': tag } } : {})
const at = <P>(params: P) => ({ params: Promise.resolve(params) })

async function withCredential() {
  vi.spyOn(systemClock, 'now').mockReturnValue(new Date('2026-03-01T18:20:00Z'))
  const county = await makeQuizCounty()
  await pass(county, '2026-01-10', systemClock.now())
  const [card] = await listCertificates(county.me, county.workerId)
  const { credential } = await getCredential(county.me, card!.issueId!)
  return { ...county, card: card!, credential }
}

describe('what a stranger fetches', () => {
  it('is found at the very addresses that a credential names', async () => {
    const c = await withCredential()
    const header = decode(c.credential.split('.')[0]!)
    const payload = decode(c.credential.split('.')[1]!)
    const issuer = `https://office.example/issuers/${c.countyId}`
    expect(payload.issuer.id).toBe(issuer)
    expect(payload.credentialStatus.statusListCredential).toBe(`${issuer}/status/1`)
    const profile = await (await getProfile(ask(), at({ county: c.countyId }))).json()
    expect(profile.id).toBe(issuer)
    expect(profile.jwks_uri).toBe(`https://office.example/.well-known/certificate-keys/${c.countyId}`)
    const keyId = new URL(header.kid).pathname.split('/').at(-1)!
    const key = await (await getKey(ask(), at({ county: c.countyId, key: keyId }))).json()
    expect(key).toMatchObject({ kid: header.kid, kty: 'RSA', alg: 'RS256', use: 'sig' })
    expect(key.iat).toBe(Date.parse('2026-03-01T18:20:00Z') / 1000)
    const set = await getKeySet(ask(), at({ county: c.countyId }))
    expect(set.headers.get('content-type')).toBe('application/jwk-set+json')
    expect((await set.json()).keys).toEqual([key])
  })

  it('may be kept for five minutes, and is not sent twice while it is the same', async () => {
    const c = await withCredential()
    const params = { county: c.countyId, list: '1' }
    const first = await getStatusList(ask(), at(params))
    expect(first.headers.get('content-type')).toBe('application/vc+jwt')
    expect(first.headers.get('cache-control')).toBe('public, max-age=300, must-revalidate')
    expect(first.headers.get('access-control-allow-origin')).toBe('*')
    const tag = first.headers.get('etag')!
    expect((await getStatusList(ask(tag), at(params))).status).toBe(304)
    const list = decode((await first.text()).split('.')[1]!)
    expect(list).toMatchObject({
      type: ['VerifiableCredential', 'BitstringStatusListCredential'],
      validFrom: '2026-03-01T18:00:00Z',
      validUntil: '2026-03-02T19:00:00Z',
    })
    // A revocation makes it another list at once.
    await revokeCertificate(c.clerk, { certificateId: c.card.certificateId, reason: 'a mistake' })
    const after = await getStatusList(ask(tag), at(params))
    expect(after.status).toBe(200)
    expect(after.headers.get('etag')).not.toBe(tag)
  })

  it('is nothing where there is no such county, key or list', async () => {
    const c = await withCredential()
    expect((await getKeySet(ask(), at({ county: 'nowhere' }))).status).toBe(404)
    expect((await getProfile(ask(), at({ county: 'nowhere' }))).status).toBe(404)
    for (const key of ['x', '00000000-0000-0000-0000-000000000000'])
      expect((await getKey(ask(), at({ county: c.countyId, key }))).status).toBe(404)
    for (const list of ['0', '2', 'x', '1e3', '99999999'])
      expect((await getStatusList(ask(), at({ county: c.countyId, list }))).status).toBe(404)
    const other = await makeQuizCounty()
    expect(await (await getKeySet(ask(), at({ county: other.countyId }))).json()).toEqual({ keys: [] })
    expect((await getStatusList(ask(), at({ county: other.countyId, list: '1' }))).status).toBe(404)
  })
})
