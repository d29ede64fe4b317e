import { createPublicKey } from 'node:crypto'
import jsonwebtoken from 'jsonwebtoken'
import { afterEach, describe, expect, it, vi } from 'vitest'
import { rebuildSpans } from '@/lib/certification/commands'
import { getCredential } from '@/lib/certification/commands-credential'
import { rotateKey, withdrawKey } from '@/lib/certification/commands-keys'
import { giveBackCertificate, revokeCertificate } from '@/lib/certification/commands-revoke'
import { bitAt, decodeBits, statusPlace } from '@/lib/certification/core/status-list'
import { verifyCredential } from '@/lib/certification/core/verify-credential'
import { listCertificates } from '@/lib/certification/queries-certificates'
import { findKeySet, findStatusList } from '@/lib/certification/queries-keys'
import { verifyBySerial, verifyPasted } from '@/lib/certification/queries-verify'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { decode, matchesSchema } from '@/tests/core/certification/credential-example'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents } from '../roster/support'
import { makeQuizCounty, pass } from './quiz-county'

useDatabase()

const clockAt = (instant: string) => vi.spyOn(systemClock, 'now').mockReturnValue(new Date(instant))
afterEach(() => vi.restoreAllMocks())

const reasonOf = (verdict: Awaited<ReturnType<typeof verifyPasted>>) =>
  verdict.status === 'refused' ? verdict.reason : verdict.status

/** Somebody who passed on 10 January 2026, as seen on 1 March 2026. */
async function certified() {
  clockAt('2026-03-01T18:00:00Z')
  const county = await makeQuizCounty()
  await pass(county, '2026-01-10', systemClock.now())
  const [card] = await listCertificates(county.me, county.workerId)
  return { ...county, card: card! }
}

describe('a certificate', () => {
  it('exists as soon as the person holds it, and its number stays through a renewal', async () => {
    const c = await certified()
    expect(c.card).toMatchObject({
      state: 'valid',
      validFrom: '2026-01-10',
      validUntil: '2027-01-10',
      roleName: { en: 'Check-in', es: 'Registro' },
    })
    expect(c.card.serial).toMatch(/^[0-9A-HJKMNP-TV-Z]{4}(-[0-9A-HJKMNP-TV-Z]{4}){2}$/)
    const rebuilt = await rebuildSpans(c.countyId, { compareOnly: false })
    expect(rebuilt).toMatchObject({ changed: 0, issued: 0, withdrawn: 0 })
    await pass(c, '2026-02-20', systemClock.now())
    const [renewed] = await listCertificates(c.me, c.workerId)
    expect(renewed).toMatchObject({ serial: c.card.serial, state: 'valid', validUntil: '2027-02-20' })
    expect(renewed!.issueId).not.toBe(c.card.issueId)
    // What the first issue says is still true: it isn't withdrawn.
    expect(await db().certificateIssue.count({ where: { countyId: c.countyId, withdrawnAt: null } })).toBe(2)
    expect(await auditEvents(c.countyId)).toEqual([
      'certificate.issued',
      'fact.recorded',
      'certificate.issued',
      'fact.recorded',
    ])
  })

  it('is made by the rebuild for people whose spans came from elsewhere', async () => {
    clockAt('2026-03-01T18:00:00Z')
    const c = await makeQuizCounty()
    await db().fact.create({
      data: {
        countyId: c.countyId,
        pollWorkerId: c.workerId,
        kind: 'quizPassed',
        topic: 'basics',
        happenedOn: '2026-01-10',
      },
    })
    expect(await rebuildSpans(c.countyId, { compareOnly: false })).toMatchObject({ changed: 1, issued: 1 })
    expect(await listCertificates(c.me, c.workerId)).toMatchObject([{ state: 'valid' }])
  })

  it('is shown by its number: valid, expired, and valid again after a renewal', async () => {
    const c = await certified()
    const check = () => verifyBySerial(c.card.serial, '192.0.2.1')
    expect(await check()).toEqual({
      status: 'valid',
      checkedOn: '2026-03-01',
      certificate: {
        serial: c.card.serial,
        holderName: 'Inés Quarrell',
        roleName: { en: 'Check-in', es: 'Registro' },
        countyName: 'Quill County',
        validFrom: '2026-01-10',
        validUntil: '2027-01-10',
      },
    })
    // Typed in small letters, with O for 0 and without dashes it is the same number.
    const typed = c.card.serial.toLowerCase().replaceAll('-', ' ').replaceAll('0', 'o')
    expect(reasonOf(await verifyBySerial(typed, '192.0.2.1'))).toBe('valid')
    // Chicago's 10 January 2027 begins at 06:00 UTC.
    clockAt('2027-01-10T05:59:59Z')
    expect(reasonOf(await check())).toBe('valid')
    clockAt('2027-01-10T06:00:00Z')
    expect(reasonOf(await check())).toBe('expired')
    clockAt('2027-02-01T18:00:00Z')
    await pass(c, '2027-02-01', systemClock.now())
    expect(await check()).toMatchObject({ status: 'valid', certificate: { validUntil: '2028-02-01' } })
  })

  it('can be revoked by staff of its county alone; the status list says so; earned anew it has a new number', async () => {
    const c = await certified()
    const { credential } = await getCredential(c.me, c.card.issueId!)
    const input = { certificateId: c.card.certificateId, reason: 'Handed in by somebody else' }
    await expect(revokeCertificate(actorWith('trainer', c.countyId), input)).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
    await expect(revokeCertificate(actorWith('countyStaff', 'elsewhere'), input)).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    await revokeCertificate(c.clerk, input)
    await expect(revokeCertificate(c.clerk, input)).rejects.toMatchObject({ code: 'CONFLICT' })
    expect(reasonOf(await verifyBySerial(c.card.serial, '192.0.2.1'))).toBe('revoked')
    expect(reasonOf(await verifyPasted(credential, '192.0.2.1'))).toBe('revoked')
    expect(await db().certificateSpan.findMany({ where: { pollWorkerId: c.workerId } })).toMatchObject([
      { validFrom: '2026-01-10', validUntil: '2026-03-01' },
    ])
    const issue = await db().certificateIssue.findUniqueOrThrow({ where: { id: c.card.issueId! } })
    const place = statusPlace(issue.statusNumber)
    const list = decode((await findStatusList(c.countyId, place.list))!.split('.')[1]!)
    expect(bitAt(decodeBits(list.credentialSubject.encodedList), place.index)).toBe(true)
    expect(await auditEvents(c.countyId)).toContain('certificate.revoked')

    clockAt('2026-04-01T18:00:00Z')
    await pass(c, '2026-04-01', systemClock.now())
    const cards = await listCertificates(c.me, c.workerId)
    expect(cards.map((card) => card.state)).toEqual(['valid', 'revoked'])
    expect(cards[0]!.serial).not.toBe(c.card.serial)
    expect(reasonOf(await verifyBySerial(c.card.serial, '192.0.2.1'))).toBe('revoked')
    expect(reasonOf(await verifyBySerial(cards[0]!.serial, '192.0.2.1'))).toBe('valid')
    expect((await rebuildSpans(c.countyId, { compareOnly: true })).changed).toBe(0)
  })

  it('comes back under a new number when the revocation was a mistake', async () => {
    const c = await certified()
    const input = { certificateId: c.card.certificateId, reason: 'It was another person' }
    await revokeCertificate(c.clerk, input)
    await giveBackCertificate(c.clerk, input)
    await expect(giveBackCertificate(c.clerk, input)).rejects.toMatchObject({ code: 'CONFLICT' })
    const cards = await listCertificates(c.me, c.workerId)
    expect(cards.map((card) => [card.state, card.validUntil])).toEqual([
      ['valid', '2027-01-10'],
      ['revoked', '2027-01-10'],
    ])
    expect(reasonOf(await verifyBySerial(c.card.serial, '192.0.2.1'))).toBe('revoked')
  })

  it('is unknown by any other number, and guessing is slowed down', async () => {
    const c = await certified()
    expect(reasonOf(await verifyBySerial('not a number', '192.0.2.9'))).toBe('notFound')
    const verdicts: string[] = []
    for (let i = 0; i < 31; i++) verdicts.push(reasonOf(await verifyBySerial('0000-0000-0000', '192.0.2.9')))
    expect(verdicts.slice(0, 30).every((v) => v === 'notFound')).toBe(true)
    expect(verdicts[30]).toBe('wait')
    // What exists uses nothing up: a hall full of people is checked from one address.
    for (let i = 0; i < 40; i++)
      expect(reasonOf(await verifyBySerial(c.card.serial, '192.0.2.10'))).toBe('valid')
  })
})

describe('its credential', () => {
  it('fits the published schema, and verifies with a second JOSE library and the published keys alone', async () => {
    const c = await certified()
    const { credential } = await getCredential(c.me, c.card.issueId!)
    expect((await getCredential(c.clerk, c.card.issueId!)).credential).toBe(credential)
    const payload = decode(credential.split('.')[1]!)
    expect(matchesSchema(payload), JSON.stringify(matchesSchema.errors)).toBe(true)
    expect(payload['@context'].slice(0, 2)).toEqual([
      'https://www.w3.org/ns/credentials/v2',
      'https://purl.imsglobal.org/spec/ob/v3p0/context-3.0.3.json',
    ])
    // Nothing of the person but the name as printed.
    const words = JSON.stringify(payload)
    for (const secret of [c.workerId, 'Q-1']) expect(words).not.toContain(secret)

    const keys = (await findKeySet(c.countyId))!
    const { kid, alg } = decode(credential.split('.')[0]!)
    const key = keys.keys.find((k) => k.kid === kid)!
    const pem = createPublicKey({ key: key as never, format: 'jwk' })
    const clockTimestamp = Date.parse('2026-03-01T18:00:00Z') / 1000
    expect(jsonwebtoken.verify(credential, pem, { algorithms: [alg], clockTimestamp })).toMatchObject({
      sub: `urn:uuid:${c.card.certificateId}`,
    })
    expect(() =>
      jsonwebtoken.verify(credential, pem, { algorithms: [alg], clockTimestamp: payload.exp }),
    ).toThrow('expired')
    const list = (await findStatusList(c.countyId, 1))!
    expect(jsonwebtoken.verify(list, pem, { algorithms: [alg], clockTimestamp })).toBeTruthy()
    const verdict = await verifyCredential(credential, {
      keys,
      now: systemClock.now(),
      statusLists: { [payload.credentialStatus.statusListCredential]: list },
      statusRequired: true,
    })
    expect(verdict).toMatchObject({ valid: true, statusChecked: true, serial: c.card.serial })
  })

  it('is for its holder and staff of the county alone', async () => {
    const c = await certified()
    for (const other of [
      actorWith('countyStaff', 'elsewhere'),
      { ...actorWith('pollWorker', 'elsewhere'), pollWorkerId: c.admin.accountId },
    ])
      await expect(getCredential(other, c.card.issueId!)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    const neighbour = { ...actorWith('pollWorker', c.countyId), pollWorkerId: c.admin.accountId }
    await expect(getCredential(neighbour, c.card.issueId!)).rejects.toMatchObject({ code: 'FORBIDDEN' })
  })

  it('stays good when the key is rotated, and is refused once the key is withdrawn, until it is signed anew', async () => {
    const c = await certified()
    const { credential } = await getCredential(c.me, c.card.issueId!)
    await expect(rotateKey(c.clerk, { countyId: c.countyId, signed: 'stays' })).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
    await rotateKey(c.admin, { countyId: c.countyId, signed: 'stays' })
    expect(reasonOf(await verifyPasted(credential, '192.0.2.1'))).toBe('valid')
    const rows = await db().issuerKey.findMany({
      where: { countyId: c.countyId },
      orderBy: { retiredAt: { sort: 'asc', nulls: 'last' } },
    })
    expect(rows.map((row) => row.sealedPrivate !== null)).toEqual([false, true])
    expect(rows[1]!.sealedPrivate).not.toContain('"d"')
    const keys = (await findKeySet(c.countyId))!.keys
    expect(keys).toHaveLength(2)
    for (const key of keys)
      for (const member of ['d', 'p', 'q', 'dp', 'dq', 'qi']) expect(key).not.toHaveProperty(member)

    await withdrawKey(c.admin, { countyId: c.countyId, keyId: rows[0]!.id })
    expect(reasonOf(await verifyPasted(credential, '192.0.2.1'))).toBe('keyWithdrawn')
    const anew = (await getCredential(c.me, c.card.issueId!)).credential
    expect(anew).not.toBe(credential)
    expect(reasonOf(await verifyPasted(anew, '192.0.2.1'))).toBe('valid')
    // Withdrawing the key in use puts another in its place at once.
    const inUse = await db().issuerKey.findFirstOrThrow({ where: { countyId: c.countyId, retiredAt: null } })
    expect(await withdrawKey(c.admin, { countyId: c.countyId, keyId: inUse.id })).toEqual({ credentials: 1 })
    expect(await db().issuerKey.count({ where: { countyId: c.countyId, retiredAt: null } })).toBe(1)
    const events = await auditEvents(c.countyId)
    for (const event of [
      'issuer-key.made',
      'issuer-key.rotated',
      'issuer-key.withdrawn',
      'certificate.signed',
    ])
      expect(events).toContain(event)
  })

  it('is refused once its key is replaced for good, by us and by whoever reads the published keys, until it is signed anew', async () => {
    const c = await certified()
    const { credential } = await getCredential(c.me, c.card.issueId!)
    expect(await rotateKey(c.admin, { countyId: c.countyId, signed: 'expires' })).toEqual({ credentials: 1 })
    expect(reasonOf(await verifyPasted(credential, '192.0.2.1'))).toBe('keyReplaced')
    const keys = (await findKeySet(c.countyId))!
    expect(keys.keys.filter((key) => key.exp !== undefined)).toHaveLength(1)
    expect(await verifyCredential(credential, { keys, now: systemClock.now() })).toMatchObject({
      reason: 'keyReplaced',
    })
    const anew = (await getCredential(c.me, c.card.issueId!)).credential
    expect(decode(anew.split('.')[1]!)).toEqual(decode(credential.split('.')[1]!))
    expect(reasonOf(await verifyPasted(anew, '192.0.2.1'))).toBe('valid')
    expect(await auditEvents(c.countyId)).toContain('issuer-key.expired')
  })

  it('is refused with a reason of its own for each thing that is wrong', async () => {
    const c = await certified()
    const { credential } = await getCredential(c.me, c.card.issueId!)
    const check = async (text: string) => reasonOf(await verifyPasted(text, '192.0.2.1'))
    const [head, body, signature] = credential.split('.') as [string, string, string]
    const payload = decode(body)
    const other = Buffer.from(JSON.stringify({ ...payload, validUntil: '2099-01-01T06:00:00Z' })).toString(
      'base64url',
    )
    expect(await check(`${head}.${other}.${signature}`)).toBe('signatureInvalid')
    expect(await check('hello')).toBe('notACredential')
    expect(await check('')).toBe('notACredential')
    expect(await check('x'.repeat(30_000))).toBe('notACredential')
    const foreign = Buffer.from(JSON.stringify({ alg: 'RS256', kid: 'https://x.example/k' })).toString(
      'base64url',
    )
    expect(await check(`${foreign}.${body}.${signature}`)).toBe('unknownKey')
    clockAt('2026-01-09T18:00:00Z')
    expect(await check(credential)).toBe('notYetValid')
    clockAt('2027-01-10T06:00:00Z')
    expect(await check(credential)).toBe('expired')
  })
})
