import { randomUUID } from 'node:crypto'
import pg from 'pg'
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest'
import { deploy, pendingSql } from '@/prisma/migrate'

let admin: pg.Client
const made: string[] = []

async function emptyDatabase(): Promise<string> {
  const name = `migrate_${randomUUID().replaceAll('-', '')}`
  await admin.query(`CREATE DATABASE ${name}`)
  made.push(name)
  return Object.assign(new URL(inject('adminUrl')), { pathname: `/${name}` }).href
}

async function query(url: string, sql: string) {
  const client = new pg.Client(url)
  await client.connect()
  try {
    return (await client.query(sql)).rows
  } finally {
    await client.end()
  }
}

beforeAll(async () => {
  admin = new pg.Client(inject('adminUrl'))
  await admin.connect()
})
afterAll(async () => {
  for (const name of made) await admin.query(`DROP DATABASE IF EXISTS ${name} WITH (FORCE)`)
  await admin.end()
})

describe('migrations', () => {
  it('agree with schema.prisma', async () => {
    expect(await pendingSql(inject('adminUrl'))).toBeNull()
  })

  it('change nothing when deployed a second time', async () => {
    const url = await emptyDatabase()
    expect((await deploy(url)).length).toBeGreaterThan(0)
    const before = await query(url, 'SELECT * FROM _prisma_migrations ORDER BY migration_name')
    expect(await deploy(url)).toEqual([])
    expect(await query(url, 'SELECT * FROM _prisma_migrations ORDER BY migration_name')).toEqual(before)
  })

  it('are applied once when four processes deploy at the same moment', async () => {
    const url = await emptyDatabase()
    const done = await Promise.all([deploy(url), deploy(url), deploy(url), deploy(url)])
    expect(done.filter((names) => names.length > 0)).toHaveLength(1)
    const rows = await query(url, 'SELECT migration_name FROM _prisma_migrations')
    expect(new Set(rows.map((r) => r.migration_name)).size).toBe(rows.length)
  })

  it('refuse a database that a newer version has changed, and leave it as it was', async () => {
    const url = await emptyDatabase()
    await deploy(url)
    await query(
      url,
      `INSERT INTO _prisma_migrations (id, checksum, migration_name, finished_at) VALUES ('x', 'y', '29991231000000_of_the_future', now())`,
    )
    await expect(deploy(url)).rejects.toThrow(
      /newer version.*29991231000000_of_the_future.*nothing was changed/,
    )
  })

  it('refuse when an applied migration was edited', async () => {
    const url = await emptyDatabase()
    await deploy(url)
    await query(url, `UPDATE _prisma_migrations SET checksum = repeat('0', 64)`)
    await expect(deploy(url)).rejects.toThrow(/edited after it was applied/)
  })
})
