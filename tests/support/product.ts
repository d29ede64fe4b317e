/** Starts the whole product as its user does (`lib/cli/start.ts`), in a data folder of its own. */
import { type ChildProcess, spawn } from 'node:child_process'
import { chmodSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'

export interface Product {
  url: string
  databaseUrl: string
  folder: string
  output: () => string
  process: ChildProcess
  stop: () => Promise<void>
}

export async function startProduct(
  options: { folder?: string; extra?: Record<string, string> } = {},
): Promise<Product> {
  const folder = options.folder ?? mkdtempSync(path.join(tmpdir(), 'readiness-product-'))
  // As root the database runs as another user, who must be able to reach its folder.
  chmodSync(folder, 0o755)
  let output = ''
  const child = spawn(process.execPath, ['--import', 'tsx', 'lib/cli/start.ts'], {
    env: {
      ...process.env,
      NODE_ENV: 'production',
      DATABASE_URL: '',
      PUBLIC_URL: '',
      SECRET: '',
      PORT: '4310',
      DATA_DIR: folder,
      ...options.extra,
    },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  for (const stream of [child.stdout, child.stderr])
    stream.on('data', (chunk: Buffer) => {
      output += chunk.toString()
    })
  const ended = new Promise<void>((resolve) => child.once('exit', () => resolve()))
  const url = await new Promise<string>((resolve, reject) => {
    const late = setTimeout(
      () => reject(new Error(`The product did not start within 200 s:\n${output}`)),
      200_000,
    )
    const look = setInterval(() => {
      const ready = /Ready: (http\S+)/.exec(output)
      if (ready) {
        clearInterval(look)
        clearTimeout(late)
        resolve(ready[1]!)
      }
    }, 100)
    void ended.then(() => {
      clearInterval(look)
      clearTimeout(late)
      reject(new Error(`The product ended before it was ready:\n${output}`))
    })
  })
  return {
    url,
    folder,
    get databaseUrl() {
      return options.extra?.DATABASE_URL || embeddedUrl(folder)
    },
    output: () => output,
    process: child,
    stop: async () => {
      if (child.exitCode === null && child.signalCode === null) child.kill('SIGTERM')
      await ended
      if (!options.folder) rmSync(folder, { recursive: true, force: true })
    },
  }
}

const lastPort = new Map<string, string>()

/** The address of a product's own database: where it runs, or ran last while it is down. */
export function embeddedUrl(folder: string): string {
  try {
    const port = readFileSync(path.join(folder, 'pg/data/postmaster.pid'), 'utf8').split('\n')[3]?.trim()
    if (port) lastPort.set(folder, port)
  } catch (error) {
    if (!lastPort.has(folder)) throw error
  }
  const port = lastPort.get(folder)
  return `postgresql://readiness:${readFileSync(path.join(folder, 'pg/password'), 'utf8').trim()}@127.0.0.1:${port}/readiness`
}
