import { runMigrations } from 'graphile-worker'
import pg from 'pg'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { verifyAllChains } from '@/lib/audit/verify'
import { rebuildSpans } from '@/lib/certification/commands'
import { closeDb, db } from '@/lib/db/client'
import { setEnv } from '@/lib/env'
import { civilDate } from '@/lib/kernel/dates'
import { deploy, pendingSql } from '@/prisma/migrate'
import { seedIfEmpty } from '@/prisma/seed/seed'
import { TEST_SECRET } from '@/tests/support/database'
import { hasDebianPostgres, startDebianPostgres } from '@/tests/support/debian-postgres'

describe.skipIf(!hasDebianPostgres())('an outside PostgreSQL 15, in another time zone', () => {
  let server: Awaited<ReturnType<typeof startDebianPostgres>>
  let url: string

  beforeAll(async () => {
    server = await startDebianPostgres()
    const admin = new pg.Client(server.adminUrl)
    await admin.connect()
    await admin.query('CREATE DATABASE outside')
    await admin.end()
    url = Object.assign(new URL(server.adminUrl), { pathname: '/outside' }).href
    setEnv({ DATABASE_URL: url, SECRET: TEST_SECRET })
  })
  afterAll(async () => {
    await closeDb()
    server?.stop()
  })

  it('takes the migrations, twice, and agrees with the schema', async () => {
    expect((await deploy(url)).length).toBeGreaterThan(0)
    expect(await deploy(url)).toEqual([])
    expect(await pendingSql(url)).toBeNull()
    await runMigrations({ connectionString: url })
  })

  it('carries the demo county with whole audit chains and the spans that the facts give', async () => {
    expect((await seedIfEmpty({ today: civilDate('2026-06-01') })).status).toBe('seeded')
    expect((await seedIfEmpty({ today: civilDate('2026-06-01') })).status).toBe('present')
    for (const verdict of await verifyAllChains(db())) expect(verdict.status).toBe('whole')
    expect(await rebuildSpans('larkmoor', { compareOnly: true })).toMatchObject({ changed: 0 })
  })

  it('keeps instants exactly, whatever the server’s own zone', async () => {
    const at = new Date('2026-07-04T23:59:59.123Z')
    await db().outboxMessage.create({
      data: {
        kind: 'test',
        toAddress: 'a@example.org',
        locale: 'en',
        subject: 's',
        body: 'b',
        createdAt: at,
        onceKey: 'zone',
      },
    })
    const [row] = await db().$queryRaw<{ epoch: number }[]>`
      SELECT extract(epoch FROM "createdAt")::float8 AS epoch FROM "OutboxMessage" WHERE "onceKey" = 'zone'`
    expect(row!.epoch).toBeCloseTo(at.getTime() / 1000, 3)
  })
})
