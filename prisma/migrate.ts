/** `npm run migrate -- create NAME | check | deploy`: own small runner, because the official one needs a download.
 *  It keeps Prisma's own `_prisma_migrations` table, so that the official tool agrees with it. */
import { createHash, randomUUID } from 'node:crypto'
import { mkdir, readdir, readFile, writeFile } from 'node:fs/promises'
import path from 'node:path'
import { fileURLToPath, pathToFileURL } from 'node:url'
import pg from 'pg'
import { dataFolder, env } from '@/lib/env'

const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '..')
const folder = path.join(root, 'prisma/migrations')
/** The advisory lock that the official tool takes: the two never run at once. */
const LOCK = 72_707_369

interface AppliedRow {
  migration_name: string
  checksum: string
  finished_at: Date | null
}

const migrationNames = async (): Promise<string[]> =>
  (await readdir(folder, { withFileTypes: true }))
    .filter((entry) => entry.isDirectory())
    .map((entry) => entry.name)
    .sort()

/** Applies what is pending, one transaction a migration, under a lock. Returns the names applied.
 *  @throws Error when the database is ahead of this version, or a migration was edited after it was applied. */
export async function deploy(url: string): Promise<string[]> {
  const db = new pg.Client({ connectionString: url, application_name: 'readiness-migrate' })
  await db.connect()
  try {
    await db.query('SELECT pg_advisory_lock($1)', [LOCK])
    await db.query(`CREATE TABLE IF NOT EXISTS _prisma_migrations (
      id VARCHAR(36) PRIMARY KEY NOT NULL,
      checksum VARCHAR(64) NOT NULL,
      finished_at TIMESTAMPTZ,
      migration_name VARCHAR(255) NOT NULL,
      logs TEXT,
      rolled_back_at TIMESTAMPTZ,
      started_at TIMESTAMPTZ NOT NULL DEFAULT now(),
      applied_steps_count INTEGER NOT NULL DEFAULT 0)`)
    const { rows } = await db.query<AppliedRow>(
      'SELECT migration_name, checksum, finished_at FROM _prisma_migrations WHERE rolled_back_at IS NULL',
    )
    const applied = new Map(rows.map((row) => [row.migration_name, row]))
    const names = await migrationNames()
    const unknown = [...applied.keys()].filter((name) => !names.includes(name)).sort()
    if (unknown.length > 0)
      throw new Error(
        `A newer version of this program has already changed this database (${unknown.join(', ')}). ` +
          'Start that version, or use another database; nothing was changed.',
      )
    const done: string[] = []
    for (const name of names) {
      const sql = await readFile(path.join(folder, name, 'migration.sql'), 'utf8')
      const checksum = createHash('sha256').update(sql).digest('hex')
      const row = applied.get(name)
      if (row && !row.finished_at)
        throw new Error(`The migration ${name} failed earlier and must be resolved by hand.`)
      if (row && row.checksum !== checksum)
        throw new Error(`The migration ${name} was edited after it was applied.`)
      if (row) continue
      await db.query('BEGIN')
      try {
        await db.query(sql)
        await db.query(
          `INSERT INTO _prisma_migrations (id, checksum, migration_name, finished_at, applied_steps_count)
           VALUES ($1, $2, $3, clock_timestamp(), 1)`,
          [randomUUID(), checksum, name],
        )
        await db.query('COMMIT')
      } catch (cause) {
        await db.query('ROLLBACK')
        throw new Error(`The migration ${name} failed and was undone: ${(cause as Error).message}`, { cause })
      }
      done.push(name)
    }
    return done
  } finally {
    await db.end() // closing the connection drops the lock
  }
}

/** SQL that would bring "all migrations replayed on a scratch database" to schema.prisma; null when they agree. */
export async function pendingSql(url: string): Promise<string | null> {
  const [engineModule, { PrismaPg }, { bindMigrationAwareSqlAdapterFactory }] = await Promise.all([
    import('@prisma/schema-engine-wasm/schema_engine_bg'),
    import('@prisma/adapter-pg'),
    import('@prisma/driver-adapter-utils'),
  ])
  const script = fileURLToPath(import.meta.resolve('@prisma/schema-engine-wasm/schema_engine_bg'))
  const { instance } = await WebAssembly.instantiate(await readFile(script.replace(/\.js$/, '.wasm')), {
    './schema_engine_bg.js': engineModule as never,
  })
  engineModule.__wbg_set_wasm(instance.exports)
  ;(instance.exports.__wbindgen_start as () => void)()
  Object.assign(globalThis, {
    PRISMA_WASM_PANIC_REGISTRY: {
      set_message: (message: string) => {
        throw new Error(message)
      },
    },
  })

  /** Two gaps of engine and adapter 7.10: the adapter can't read the type "char", and the engine stops at any row of
   *  its query for CHECK constraints, which schema.prisma can't express, so it needs none of them. */
  class ScratchPool extends pg.Pool {
    // biome-ignore lint/suspicious/noExplicitAny: the overloads of pg's query can't be written otherwise
    override async query(query: any, ...rest: any[]): Promise<any> {
      const asked = query?.text
        ? { ...query, text: query.text.replace(/contype NOT IN \([^)]*\)/, 'false') }
        : query
      // biome-ignore lint/suspicious/noExplicitAny: as above
      const result: any = await (super.query as any)(asked, ...rest)
      for (const field of result?.fields ?? []) if (field.dataTypeID === 18) field.dataTypeID = 1042
      return result
    }
  }

  const scratch = `scratch_${randomUUID().replaceAll('-', '')}`
  const scratchUrl = Object.assign(new URL(url), { pathname: `/${scratch}` }).href
  const admin = new pg.Client(url)
  await admin.connect()
  await admin.query(`CREATE DATABASE ${scratch} TEMPLATE template0`)
  const pool = new ScratchPool({ connectionString: scratchUrl, max: 1 })
  try {
    await deploy(scratchUrl)
    const file = {
      path: 'schema.prisma',
      content: await readFile(path.join(root, 'prisma/schema.prisma'), 'utf8'),
    }
    const engine = await engineModule.SchemaEngine.new(
      { datamodels: [[file.path, file.content]] },
      () => undefined,
      bindMigrationAwareSqlAdapterFactory(new PrismaPg(pool as never)),
    )
    const difference = await engine.diff({
      script: true,
      exitCode: true,
      filters: { externalTables: [], externalEnums: [] },
      from: { tag: 'schemaDatasource', files: [file], configDir: root },
      to: { tag: 'schemaDatamodel', files: [file] },
    } as never)
    return difference.exitCode === 2 ? (difference.stdout ?? '') : null
  } finally {
    await pool.end()
    await admin.query(`DROP DATABASE ${scratch} WITH (FORCE)`)
    await admin.end()
  }
}

async function withDatabase(work: (url: string) => Promise<void>): Promise<void> {
  const outside = env().DATABASE_URL
  if (outside) return work(outside)
  const { startCluster } = await import('@/lib/db/embedded')
  const cluster = await startCluster(path.join(dataFolder(), 'check'), { database: 'check' })
  try {
    await work(cluster.url)
  } finally {
    await cluster.stop()
  }
}

async function main([verb, name = '']: string[]): Promise<void> {
  if (verb === 'deploy')
    await withDatabase(async (url) => console.log('applied:', (await deploy(url)).join(', ') || 'nothing'))
  else if (verb === 'check')
    await withDatabase(async (url) => {
      const sql = await pendingSql(url)
      console.log(sql ?? 'The migrations and schema.prisma agree.')
      if (sql) process.exitCode = 1
    })
  else if (verb === 'create' && /^[a-z0-9_]+$/.test(name))
    await withDatabase(async (url) => {
      await mkdir(folder, { recursive: true })
      const sql = await pendingSql(url)
      if (!sql) return console.log('Nothing to do: the migrations and schema.prisma agree.')
      const stamp = new Date().toISOString().replace(/\D/g, '').slice(0, 14)
      const to = path.join(folder, `${stamp}_${name}`)
      await mkdir(to)
      await writeFile(path.join(to, 'migration.sql'), sql)
      console.log(`Wrote ${path.relative(root, to)}/migration.sql: read it before you commit it.`)
    })
  else {
    console.error('Use: npm run migrate -- create NAME | check | deploy   (NAME: small letters, digits, _)')
    process.exitCode = 2
  }
}

if (process.argv[1] && import.meta.url === pathToFileURL(process.argv[1]).href)
  await main(process.argv.slice(2))
