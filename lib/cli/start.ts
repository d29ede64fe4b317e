/** `npm start` (or `npm run dev`): database, migrations, demo county, web process, job runner; ends cleanly on Ctrl-C
 *  and SIGTERM. What dies is started again; what was acknowledged is in PostgreSQL. */
import { type ChildProcess, spawn } from 'node:child_process'
import { randomBytes } from 'node:crypto'
import { existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import path from 'node:path'
import { pathToFileURL } from 'node:url'
import { runMigrations } from 'graphile-worker'
import { type Cluster, ownerOf, startCluster } from '@/lib/db/embedded'
import { freePort } from '@/lib/db/free-port'
import { childEnvironment, dataFolder, env, setEnv } from '@/lib/env'
import { civilDate, civilDateAt } from '@/lib/kernel/dates'
import { deploy } from '@/prisma/migrate'
import { ensureBuild, ensureDatabaseClient, nextCommand, ROOT } from './prepare'

const mode = process.argv[2] === 'dev' ? 'dev' : 'start'
const FOLLOW_PARENT = pathToFileURL(path.join(ROOT, 'lib/cli/follow-parent.mjs')).href
const say = (line: string) => console.log(line)
const folder = dataFolder()
const pidFile = path.join(folder, 'start.pid')
const addressFile = path.join(folder, 'address')

/** A refusal in one sentence, without a stack. */
class CannotStart extends Error {}

let cluster: Cluster | undefined
const children = new Map<string, ChildProcess>()
let stopping = false

async function endChild(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return
  const ended = new Promise((resolve) => child.once('exit', resolve))
  child.kill('SIGTERM')
  const late = setTimeout(() => child.kill('SIGKILL'), 10_000)
  await ended
  clearTimeout(late)
}

async function stop(code: number): Promise<void> {
  if (stopping) return
  stopping = true
  await Promise.all([...children.values()].map(endChild))
  await cluster?.stop()
  if (existsSync(pidFile) && readFileSync(pidFile, 'utf8') === String(process.pid))
    rmSync(pidFile, { force: true })
  process.exit(code)
}

function claimFolder(): void {
  mkdirSync(folder, { recursive: true })
  for (let attempt = 0; ; attempt++) {
    try {
      writeFileSync(pidFile, String(process.pid), { flag: 'wx' })
      return
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'EEXIST' || attempt > 3) throw error
      const other = Number(readFileSync(pidFile, 'utf8'))
      let alive = false
      try {
        alive = other > 0 && other !== process.pid && process.kill(other, 0)
      } catch (problem) {
        alive = (problem as NodeJS.ErrnoException).code === 'EPERM'
      }
      if (alive) {
        const address = existsSync(addressFile) ? ` at ${readFileSync(addressFile, 'utf8')}` : ''
        throw new CannotStart(
          `The product is already running from this folder${address} (process ${other}). Stop it first, or set DATA_DIR to another folder.`,
        )
      }
      rmSync(pidFile, { force: true })
    }
  }
}

function ensureSecret(): void {
  if (env().SECRET) return
  const file = path.join(folder, 'secret')
  if (!existsSync(file)) writeFileSync(file, randomBytes(32).toString('base64url'), { mode: 0o600 })
  setEnv({ SECRET: readFileSync(file, 'utf8') })
}

/** Starts a process and keeps it: one that ends by itself is started again, at most five times a minute. */
function keep(name: string, words: string[], extra: Record<string, string>): void {
  const starts: number[] = []
  const begin = () => {
    starts.push(Date.now())
    const child = spawn(
      process.execPath,
      // The development server hands its own flags on to a process that talks with it over the same channel.
      [...(mode === 'dev' && name === 'web process' ? [] : ['--import', FOLLOW_PARENT]), ...words],
      {
        cwd: ROOT, // Its greeting would hide ours; what goes wrong comes on standard error.
        stdio: ['ignore', mode === 'dev' ? 'inherit' : 'ignore', 'inherit', 'ipc'],
        env: childEnvironment(extra),
      },
    )
    children.set(name, child)
    child.once('exit', (code, signal) => {
      if (stopping) return
      say(`The ${name} ended (${signal ?? code}); it is started again.`)
      if (starts.filter((at) => at > Date.now() - 60_000).length >= 5) {
        console.error(`The ${name} ended five times within a minute: stopping. Its last words are above.`)
        void stop(1)
      } else setTimeout(() => !stopping && begin(), 500)
    })
  }
  begin()
}

/** The embedded server may be killed; it comes back with all that was acknowledged. It asks for the same port; where
 *  another program has taken that meanwhile, it gets a new one, and our processes start again to hear of it. */
async function watchDatabase(first: Cluster): Promise<void> {
  const pgFolder = path.join(folder, 'pg')
  let running = first
  while (!stopping) {
    await new Promise((resolve) => setTimeout(resolve, 1000))
    if (stopping) return
    try {
      const again = await startCluster(pgFolder, { port: running.port })
      if (again.started) say('The database ended; it was started again.')
      if (again.port === running.port) continue
      say(`Another program has taken port ${running.port}: the database is on port ${again.port} now.`)
      cluster = running = again
      setEnv({ DATABASE_URL: again.url })
      for (const child of children.values()) void endChild(child)
    } catch (error) {
      if (!stopping) console.error(`The database can't be started: ${(error as Error).message}`)
    }
  }
}

async function startDatabase(): Promise<void> {
  if (env().DATABASE_URL) return
  const owner = ownerOf(path.join(folder, 'pg'))
  if (owner)
    throw new CannotStart(`The database of this folder is in use by process ${owner}. Stop that first.`)
  cluster = await startCluster(path.join(folder, 'pg'))
  setEnv({ DATABASE_URL: cluster.url })
}

async function waitUntilAnswering(address: string): Promise<void> {
  for (let i = 0; i < 240 && !stopping; i++) {
    const answer = await fetch(`${address}/api/health`).catch(() => null)
    if (answer?.ok) return
    await new Promise((resolve) => setTimeout(resolve, 250))
  }
}

async function main(): Promise<void> {
  process.title = 'readiness'
  claimFolder()
  if (mode === 'dev') ensureDatabaseClient()
  else ensureBuild(say)
  if (stopping) return
  await startDatabase()
  ensureSecret()
  const url = env().DATABASE_URL as string
  const applied = await deploy(url)
  await runMigrations({ connectionString: url })
  if (applied.length > 0) say(`The database was brought up to date (${applied.length} steps).`)

  const port = await freePort(env().PORT, env().HOST)
  const address =
    env().PUBLIC_URL ?? `http://${env().HOST === '127.0.0.1' ? 'localhost' : env().HOST}:${port}`
  setEnv({ PUBLIC_URL: address })

  const { DEMO_PASSWORD, DEMO_SIGN_INS, seedIfEmpty } = await import('@/prisma/seed/seed')
  const { closeDb, db } = await import('@/lib/db/client')
  if (env().DEMO === 'yes') {
    const today = env().DEMO_ON
      ? civilDate(env().DEMO_ON as string)
      : civilDateAt(new Date(), 'America/Chicago')
    const { status } = await seedIfEmpty({ today })
    if (status === 'seeded') say('The demo county was made: Larkmoor, invented from end to end.')
  }
  const empty = (await db().state.count()) === 0
  await closeDb()
  if (stopping) return

  keep('web process', [nextCommand(), mode, '-p', String(port), '-H', env().HOST], {
    NEXTAUTH_URL: address,
    NEXTAUTH_SECRET: env().SECRET as string,
    NEXT_TELEMETRY_DISABLED: '1',
    NODE_ENV: mode === 'dev' ? 'development' : 'production',
  })
  keep('job runner', ['--import', 'tsx', path.join(ROOT, 'lib/cli/run-jobs.ts')], { NODE_ENV: 'production' })
  if (cluster) void watchDatabase(cluster)
  await waitUntilAnswering(`http://${env().HOST}:${port}`)
  if (stopping) return
  writeFileSync(addressFile, address)
  say(`\nReady: ${address}\n`)
  if (env().DEMO === 'yes') {
    say(`Demo sign-ins (staff password: ${DEMO_PASSWORD})`)
    for (const line of DEMO_SIGN_INS) say(`  ${(line.email ?? line.cardCode ?? '').padEnd(32)} ${line.label}`)
  }
  if (empty)
    say('Nobody can sign in yet. Make the first account: npm run first-account (README.md says how).')
  say('\nCtrl-C ends it. A supervisor should run: node --import tsx lib/cli/start.ts')
}

for (const [signal, code] of [
  ['SIGINT', 130],
  ['SIGTERM', 143],
  ['SIGHUP', 129],
] as const)
  process.on(signal, () => void stop(code))

try {
  await main()
} catch (error) {
  if (error instanceof CannotStart) console.error(error.message)
  else console.error(error instanceof Error ? error.message : error)
  await stop(1)
}
