import { describe, expect, it } from 'vitest'
import { verifyAllChains } from '@/lib/audit/verify'
import { hashOfCode } from '@/lib/auth/codes'
import { isPassword } from '@/lib/auth/passwords'
import { rebuildSpans } from '@/lib/certification/commands'
import { db } from '@/lib/db/client'
import { civilDate } from '@/lib/kernel/dates'
import { DEMO_CARDS, DEMO_PASSWORD, DEMO_SIGN_INS, STAFF_SIGN_INS, seedIfEmpty } from '@/prisma/seed/seed'
import { useDatabase } from '@/tests/support/database'

useDatabase()

const today = civilDate('2026-11-25')

const counts = async () => ({
  counties: await db().county.count(),
  places: await db().pollingPlace.count(),
  precincts: await db().precinct.count(),
  people: await db().pollWorker.count(),
  accounts: await db().account.count(),
  facts: await db().fact.count(),
  audits: await db().auditRecord.count(),
})

describe('the seed of an empty database', () => {
  it('leaves nothing behind when it fails half-way', async () => {
    // Written late: the second county's clerk.
    const inTheWay = await db().account.create({ data: { email: 'clerk@fennick.example', name: 'Somebody' } })
    await expect(seedIfEmpty({ today })).rejects.toThrow(/duplicate key|23505/)
    expect(await counts()).toEqual({
      counties: 0,
      places: 0,
      precincts: 0,
      people: 0,
      accounts: 1,
      facts: 0,
      audits: 0,
    })
    await db().account.delete({ where: { id: inTheWay.id } })
  })

  it('is written once, though two begin at once', async () => {
    const outcomes = await Promise.all([seedIfEmpty({ today }), seedIfEmpty({ today })])
    expect(outcomes.map(({ status }) => status).sort()).toEqual(['present', 'seeded'])
    // Issue 2: 31 + 2 places, 42 precincts, 460 people; with Fennick's 6, 8 and 40. Six staff accounts.
    expect(await counts()).toMatchObject({
      counties: 2,
      places: 33 + 6,
      precincts: 42 + 8,
      people: 460 + 40,
      accounts: 460 + 40 + 6,
      audits: 4, // each county: its certificates, itself
    })
    const before = await counts()
    expect(await seedIfEmpty({ today })).toEqual({ status: 'present' })
    expect(await counts()).toEqual(before)
  })

  it('has one pair of people, certified for one work on election day', async () => {
    const [pair, ...more] = await db().personPair.findMany({
      include: { pollWorker: { include: { spans: true } }, other: { include: { spans: true } } },
    })
    expect(more).toEqual([])
    expect(pair).toMatchObject({ countyId: 'larkmoor', kind: 'together', pollWorker: { givenName: 'June' } })
    // Election day of 2028: the Tuesday after the first Monday in November (2 U.S.C. 7).
    for (const { spans } of [pair!.pollWorker, pair!.other])
      expect(
        spans.some(
          (s) =>
            s.certificateKey === 'check-in' &&
            s.validFrom <= '2028-11-07' &&
            (s.validUntil === null || s.validUntil > '2028-11-07'),
        ),
      ).toBe(true)
  })

  it('starts a whole audit chain in each county', async () => {
    expect(await verifyAllChains(db())).toEqual([
      { chain: 'fennick', status: 'whole', links: 2 },
      { chain: 'larkmoor', status: 'whole', links: 2 },
    ])
    const [larkmoor] = await db().auditRecord.findMany({ where: { chain: 'larkmoor' } })
    expect(larkmoor).toMatchObject({
      actorAccountId: null,
      event: 'county.seeded',
      detail: { people: 460, places: 33, precincts: 42 },
    })
  })

  it('stores the spans that a rebuild from facts and rules computes', async () => {
    for (const countyId of ['larkmoor', 'fennick'])
      expect(await rebuildSpans(countyId, { compareOnly: true })).toMatchObject({ countyId, changed: 0 })
    expect(await db().certificateSpan.count()).toBeGreaterThan(400)
  })

  it('lets every sign-in of its list in, each with the access that it says', async () => {
    expect(DEMO_SIGN_INS).toHaveLength(STAFF_SIGN_INS.length + DEMO_CARDS.length)
    for (const { email, access, countyId } of STAFF_SIGN_INS) {
      const account = await db().account.findUniqueOrThrow({ where: { email }, include: { grants: true } })
      expect(await isPassword(account.passwordHash, DEMO_PASSWORD)).toBe(true)
      expect(account.passwordHash).toMatch(/^\$argon2id\$/)
      expect(account.grants.map((g) => [g.access, g.countyId])).toEqual([[access, countyId]])
    }
    for (const { code, name } of DEMO_CARDS) {
      const card = await db().signInCode.findUniqueOrThrow({
        where: { codeHash: hashOfCode(code) },
        include: { account: { include: { grants: true } } },
      })
      expect(card).toMatchObject({ kind: 'card', usedAt: null, account: { name, passwordHash: null } })
      expect(card.account.grants.map((g) => [g.access, g.countyId])).toEqual([['pollWorker', 'larkmoor']])
    }
  })

  it('gives every poll worker an account of their own county and no password', async () => {
    const accounts = await db().account.findMany({
      where: { pollWorkerId: { not: null } },
      include: { grants: true, pollWorker: true },
    })
    expect(accounts).toHaveLength(500)
    for (const account of accounts) {
      expect(account.passwordHash).toBeNull()
      expect(account.email).toBe(account.pollWorker!.email)
      expect(account.grants.map((g) => [g.access, g.countyId])).toEqual([
        ['pollWorker', account.pollWorker!.countyId],
      ])
    }
  })
})
