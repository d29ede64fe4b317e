import { afterEach, expect, it, vi } from 'vitest'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { getMyCertificatesOrThrow } from '@/lib/path/queries-certificates'
import { useDatabase } from '@/tests/support/database'
import { actorWith } from '../roster/support'
import { makeQuizCounty, pass } from './quiz-county'

useDatabase()
afterEach(() => vi.restoreAllMocks())

it('a person sees what ends when, what to do anew and from which day, and what they have done', async () => {
  vi.spyOn(systemClock, 'now').mockReturnValue(new Date('2026-03-01T18:00:00Z'))
  const c = await makeQuizCounty()
  await pass(c, '2026-01-10', systemClock.now())
  const { certificates, history } = await getMyCertificatesOrThrow(c.me, 'es')
  // The quiz counts twelve months: to hold on 10 April 2027, three months on, it is done on 11 April 2026 or later.
  expect(certificates).toMatchObject([
    { name: 'Registro', state: 'valid', validUntil: '2027-01-10', toRenew: [{ doFrom: '2026-04-11' }] },
  ])
  expect(history).toMatchObject([{ kind: 'quizPassed', on: '2026-01-10', takenBack: false }])
  await expect(getMyCertificatesOrThrow(actorWith('countyStaff', c.countyId), 'en')).rejects.toMatchObject({
    code: 'NOT_FOUND',
  })
})

it('certificates of a county of 3,000 are made in one go', async () => {
  const c = await makeQuizCounty()
  await db().$executeRaw`
    INSERT INTO "PollWorker" (id, "countyId", "countyRef", "givenName", "familyName", languages, "unavailableOn")
    SELECT gen_random_uuid(), ${c.countyId}, 'N-' || n, 'Given' || n, 'Family', '{}', '{}' FROM generate_series(1, 3000) n`
  await db().$executeRaw`
    INSERT INTO "CertificateSpan" ("pollWorkerId", "certificateKey", "validFrom", "validUntil", "countyId")
    SELECT id, 'check-in', '2026-01-01', '2028-01-01', "countyId" FROM "PollWorker" WHERE "countyId" = ${c.countyId}`
  const { syncCertificates } = await import('@/lib/certification/commands-issue')
  const { transaction } = await import('@/lib/db/transaction')
  const by = { accountId: null, at: new Date('2026-03-01T18:00:00Z') }
  expect(await transaction((tx) => syncCertificates(tx, by, c.countyId))).toEqual({
    issued: 3001,
    withdrawn: 0,
  })
  expect(await transaction((tx) => syncCertificates(tx, by, c.countyId))).toEqual({ issued: 0, withdrawn: 0 })
  const serials = await db().certificate.findMany({
    where: { countyId: c.countyId },
    select: { serial: true },
  })
  expect(new Set(serials.map((row) => row.serial)).size).toBe(3001)
})
