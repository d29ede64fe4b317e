/** Requests a second: a signed-in page that reads the database, a route handler that reads it, and, in the same run, a
 *  bare page of the same framework. `npm run bench -- pages [seconds]`. */
import http from 'node:http'
import { ensureBuild } from '@/lib/cli/prepare'
import { startBare } from '@/tests/support/bare'
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
