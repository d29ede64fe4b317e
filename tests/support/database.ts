import { randomUUID } from 'node:crypto'
import pg from 'pg'
import { afterAll, beforeAll, inject } from 'vitest'
import { closeDb } from '@/lib/db/client'
import { setEnv } from '@/lib/env'

/** A database of its own for the test file, copied from the migrated template; `db()` then points at it. */
export async function makeDatabase(): Promise<{ url: string; drop: () => Promise<void> }> {
  const adminUrl = inject('adminUrl')
  const name = `test_${randomUUID().replaceAll('-', '')}`
  const admin = new pg.Client(adminUrl)
  await admin.connect()
  await admin.query(`CREATE DATABASE ${name} TEMPLATE ${inject('templateName')}`)
  const url = Object.assign(new URL(adminUrl), { pathname: `/${name}` }).href
  return {
    url,
    drop: async () => {
      await admin.query(`DROP DATABASE IF EXISTS ${name} WITH (FORCE)`)
      await admin.end()
    },
  }
}

export const TEST_SECRET = 'a secret for tests only, forty characters!!'

/** Call at the top of a db test file. */
export function useDatabase(): { url: () => string } {
  let made: Awaited<ReturnType<typeof makeDatabase>> | undefined
  beforeAll(async () => {
    made = await makeDatabase()
    setEnv({ DATABASE_URL: made.url, SECRET: TEST_SECRET, POOL_SIZE: '6' })
  })
  afterAll(async () => {
    await closeDb()
    await made?.drop()
  })
  return { url: () => made!.url }
}
