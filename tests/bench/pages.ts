/** Requests a second: a signed-in page that reads the database, a route handler that reads it, and, in the same run, a
 *  bare page of the same framework. `npm run bench -- pages [seconds]`. */
import { execFileSync, spawn } from 'node:child_process'
import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import http from 'node:http'
import path from 'node:path'
import { ensureBuild, nextCommand, ROOT } from '@/lib/cli/prepare'
import { freePort } from '@/lib/db/free-port'
import { startProduct } from '@/tests/support/product'
import { signIn } from '@/tests/support/visitor'

const SECONDS = Number(process.argv[2] ?? 8)
const CONNECTIONS = 16

/** Keeps `CONNECTIONS` requests under way on loopback for a bounded time. */
async function measure(
  name: string,
  url: string,
  cookie = '',
): Promise<{ name: string; perSecond: number; p95: number; bytes: number }> {
  const agent = new http.Agent({ keepAlive: true, maxSockets: CONNECTIONS })
  const once = () =>
    new Promise<{ status: number; bytes: number }>((resolve, reject) => {
      http
        .get(url, { agent, headers: { cookie } }, (answer) => {
          let bytes = 0
          answer.on('data', (chunk: Buffer) => {
            bytes += chunk.length
          })
          answer.on('end', () => resolve({ status: answer.statusCode ?? 0, bytes }))
        })
        .on('error', reject)
    })
  for (let i = 0; i < 30; i++) await once()
  const times: number[] = []
  let bytes = 0
  const end = performance.now() + SECONDS * 1000
  await Promise.all(
    Array.from({ length: CONNECTIONS }, async () => {
      while (performance.now() < end) {
        const began = performance.now()
        const answer = await once()
        if (answer.status !== 200) throw new Error(`${name}: status ${answer.status}`)
        bytes = answer.bytes
        times.push(performance.now() - began)
      }
    }),
  )
  agent.destroy()
  times.sort((a, b) => a - b)
  return { name, perSecond: times.length / SECONDS, p95: times[Math.floor(times.length * 0.95)]!, bytes }
}

async function startBare(): Promise<{ url: string; stop: () => void }> {
  const parent = path.join(ROOT, 'tests/.out')
  mkdirSync(parent, { recursive: true })
  const folder = mkdtempSync(path.join(parent, 'bare-'))
  mkdirSync(path.join(folder, 'app'))
  symlinkSync(path.join(ROOT, 'node_modules'), path.join(folder, 'node_modules'))
  writeFileSync(path.join(folder, 'package.json'), '{"name":"bare","private":true,"type":"module"}')
  writeFileSync(
    path.join(folder, 'next.config.mjs'),
    `export default { turbopack: { root: ${JSON.stringify(ROOT)} }, outputFileTracingRoot: ${JSON.stringify(ROOT)} }`,
  )
  writeFileSync(
    path.join(folder, 'app/layout.js'),
    'export default function L({ children }) { return <html lang="en"><body>{children}</body></html> }',
  )
  writeFileSync(
    path.join(folder, 'app/page.js'),
    "export const dynamic = 'force-dynamic'\nexport default function P() { return <p>{Date.now()}</p> }",
  )
  const env = { ...process.env, NODE_ENV: 'production' as const, NEXT_TELEMETRY_DISABLED: '1' }
  execFileSync(process.execPath, [nextCommand(), 'build'], { cwd: folder, stdio: 'ignore', env })
  const port = await freePort(4390)
  const child = spawn(process.execPath, [nextCommand(), 'start', '-p', String(port), '-H', '127.0.0.1'], {
    cwd: folder,
    stdio: 'ignore',
    env,
  })
  const url = `http://127.0.0.1:${port}`
  for (let i = 0; i < 100; i++) {
    if ((await fetch(url).catch(() => null))?.ok) break
    await new Promise((resolve) => setTimeout(resolve, 200))
  }
  return {
    url,
    stop: () => {
      child.kill('SIGTERM')
      rmSync(folder, { recursive: true, force: true })
    },
  }
}

ensureBuild(console.log)
const product = await startProduct({ extra: { PORT: '4350' } })
const bare = await startBare()
try {
  const trainer = await signIn(product, { email: 'trainer@larkmoor.example' })
  const rows = [
    await measure('bare page of the framework (reference)', bare.url),
    await measure('signed-in page, reads the database (settings)', `${product.url}/account`, trainer.cookie),
    await measure(
      'signed-in page, 30 people with what is missing',
      `${product.url}/training/larkmoor`,
      trainer.cookie,
    ),
    await measure('route handler, one query (health)', `${product.url}/api/health`),
  ]
  const reference = rows[0]!.perSecond
  console.log(
    `${CONNECTIONS} connections on loopback, ${SECONDS} s each; client and server share the machine's cores\n`,
  )
  console.log(
    `${'what'.padEnd(50)} ${'req/s'.padStart(8)} ${'ratio'.padStart(7)} ${'p95 ms'.padStart(8)} ${'bytes'.padStart(8)}`,
  )
  for (const row of rows)
    console.log(
      `${row.name.padEnd(50)} ${row.perSecond.toFixed(0).padStart(8)} ${(row.perSecond / reference).toFixed(2).padStart(7)} ${row.p95.toFixed(1).padStart(8)} ${String(row.bytes).padStart(8)}`,
    )
} finally {
  bare.stop()
  await product.stop()
}
