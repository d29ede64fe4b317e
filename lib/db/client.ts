import { PrismaPg } from '@prisma/adapter-pg'
import { env } from '@/lib/env'
import { type Prisma, PrismaClient } from '@/prisma/client/client'

export type Db = PrismaClient
/** What a command writes through: the same calls as `Db`, inside one transaction. */
export type Tx = Prisma.TransactionClient

const kept = globalThis as { readinessDb?: PrismaClient }

/** The connection pool, opened on first use: the build imports pages without a database. */
export function db(): Db {
  if (!kept.readinessDb) {
    const { DATABASE_URL, POOL_SIZE } = env()
    if (!DATABASE_URL) throw new Error('DATABASE_URL is not set: start the product by its start command.')
    // Without UTC here the adapter stores instants shifted by the server's zone.
    const adapter = new PrismaPg({
      connectionString: DATABASE_URL,
      max: POOL_SIZE,
      options: '-c TimeZone=UTC',
    })
    // A crowd waits its turn for a connection rather than being sent away: 200 people may hand in at once.
    kept.readinessDb = new PrismaClient({ adapter, transactionOptions: { maxWait: 30_000, timeout: 30_000 } })
  }
  return kept.readinessDb
}

export async function closeDb(): Promise<void> {
  await kept.readinessDb?.$disconnect()
  kept.readinessDb = undefined
}
