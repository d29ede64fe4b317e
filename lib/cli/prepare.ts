/** Makes what git does not keep: Prisma's client, the build. Each only when its sources have changed. */
import { execFileSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import path from 'node:path'
import { fileURLToPath } from 'node:url'
import { childEnvironment } from '@/lib/env'

export const ROOT = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '../..')
const require = createRequire(import.meta.url)

function* filesBelow(folder: string): Generator<string> {
  for (const entry of readdirSync(folder, { withFileTypes: true }).sort((a, b) =>
    a.name < b.name ? -1 : 1,
  )) {
    const full = path.join(folder, entry.name)
    if (entry.isDirectory()) yield* filesBelow(full)
    else yield full
  }
}

/** A fingerprint of files and folders, by content. */
function fingerprint(names: string[]): string {
  const hash = createHash('sha256')
  for (const name of names) {
    const full = path.join(ROOT, name)
    if (!existsSync(full)) continue
    const files = name.includes('.') ? [full] : [...filesBelow(full)]
    for (const file of files) hash.update(path.relative(ROOT, file)).update(readFileSync(file))
  }
  return hash.digest('hex')
}

const upToDate = (mark: string, print: string): boolean =>
  existsSync(mark) && readFileSync(mark, 'utf8') === print

/** Generates Prisma's client where it is missing or older than the schema. */
export function ensureDatabaseClient(): void {
  const mark = path.join(ROOT, 'prisma/client/.made-for')
  const print = fingerprint(['prisma/schema.prisma', 'package-lock.json'])
  if (upToDate(mark, print)) return
  execFileSync(process.execPath, [require.resolve('prisma/build/index.js'), 'generate'], {
    cwd: ROOT,
    stdio: ['ignore', 'ignore', 'inherit'],
    env: childEnvironment({ PRISMA_HIDE_UPDATE_MESSAGE: '1', CHECKPOINT_DISABLE: '1' }),
  })
  // The compiler's notes of the last check don't see that this ignored folder changed.
  rmSync(path.join(ROOT, 'tsconfig.tsbuildinfo'), { force: true })
  mkdirSync(path.dirname(mark), { recursive: true })
  writeFileSync(mark, print)
}

/** Builds the pages where the last build is of other sources. About a minute on two cores. */
export function ensureBuild(say: (line: string) => void): void {
  ensureDatabaseClient()
  const mark = path.join(ROOT, '.next/built-for')
  const print = fingerprint([
    'app',
    'lib',
    'content/messages',
    'prisma/schema.prisma',
    'instrumentation.ts',
    'next.config.mjs',
    'package-lock.json',
  ])
  if (upToDate(mark, print)) return
  say('Building the pages (once for each version; about a minute) …')
  execFileSync(process.execPath, [nextCommand(), 'build'], {
    cwd: ROOT,
    stdio: ['ignore', 'ignore', 'inherit'],
    env: childEnvironment({ NODE_ENV: 'production', NEXT_TELEMETRY_DISABLED: '1' }),
  })
  writeFileSync(mark, print)
}

export const nextCommand = (): string => require.resolve('next/dist/bin/next')
