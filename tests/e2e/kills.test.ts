/** The product is killed again and again in the middle of writes. What was acknowledged is there afterwards; nothing is
 *  half-written; the audit chains verify. */
import { execFileSync } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { createServer } from 'node:net'
import path from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { setEnv } from '@/lib/env'
import { getPage, postForm } from '@/tests/support/plain-form'
import { type Product, startProduct } from '@/tests/support/product'
import { signIn, type Visitor, withClient } from '@/tests/support/visitor'

const FULL = process.env.TEST_FULL === '1'
const KILLS = FULL ? 20 : 4
const WRITERS = 4

let product: Product
let trainer: Visitor
let workers: string[]

beforeAll(async () => {
  product = await startProduct({ extra: { PORT: '4330' } })
  trainer = await signIn(product, { email: 'trainer@larkmoor.example' })
  workers = await withClient(product.databaseUrl, async (client) =>
    (
      await client.query(
        `SELECT id FROM "PollWorker" WHERE "countyId" = 'larkmoor' ORDER BY "countyRef" LIMIT 40`,
      )
    ).rows.map((row) => row.id as string),
  )
})
afterAll(async () => {
  const { closeDb } = await import('@/lib/db/client')
  await closeDb()
  await product?.stop()
})

/** The web process, found as a child of the process that we started; never by name alone. */
function webPid(): number {
  const children = execFileSync('ps', ['-o', 'pid=,args=', '--ppid', String(product.process.pid)], {
    encoding: 'utf8',
  })
  const line = children.split('\n').find((l) => l.includes('next/dist/bin/next') || l.includes('next-server'))
  return Number(line?.trim().split(/\s+/)[0])
}
const databasePid = () =>
  Number(readFileSync(path.join(product.folder, 'pg/data/postmaster.pid'), 'utf8').split('\n')[0])

async function untilHealthy(): Promise<void> {
  for (let i = 0; i < 300; i++) {
    const answer = await fetch(`${product.url}/api/health`).catch(() => null)
    if (answer?.ok) return
    await pause(100)
  }
  throw new Error(`not healthy again within 30 s:\n${product.output()}`)
}

it(`loses nothing acknowledged and leaves nothing half-written over ${KILLS} kills`, async () => {
  const acknowledged: string[] = []
  let writing = true
  let turn = 0
  let refused = 0
  const writer = async () => {
    while (writing) {
      const worker = workers[turn++ % workers.length]!
      try {
        const page = await getPage(`${product.url}/training/larkmoor/${worker}`, trainer.cookie)
        const formKey = page.document.querySelector('[name="formKey"]')?.getAttribute('value')
        const answer = await postForm(page, trainer.cookie, 'formKey', {
          on: '2026-01-15',
          mark: 'card-handling:done',
        })
        if (formKey && answer.status === 200 && answer.html.includes('The check-off is recorded.'))
          acknowledged.push(`check-off:${formKey}:card-handling:done`)
        else refused++
      } catch {
        refused++
        await pause(50)
      }
    }
  }
  const writers = Array.from({ length: WRITERS }, writer)
  for (let kill = 0; kill < KILLS; kill++) {
    // Writes are flowing again before each kill; then it comes at an odd moment among them.
    const before = acknowledged.length
    for (let i = 0; i < 400 && acknowledged.length < before + 2; i++) await pause(50)
    await pause((kill * 137) % 400)
    // Alternates; the pauses keep below the five restarts a minute after which the start command gives up.
    const pid = kill % 2 === 0 ? webPid() : databasePid()
    expect(pid).toBeGreaterThan(1)
    process.kill(pid, 'SIGKILL')
    await pause(300)
    await untilHealthy()
    if (FULL) await pause(6000)
  }
  writing = false
  await Promise.all(writers)
  expect(acknowledged.length).toBeGreaterThanOrEqual(KILLS)

  const found = await withClient(product.databaseUrl, async (client) => ({
    facts: (await client.query(`SELECT id, "onceKey" FROM "Fact" WHERE "onceKey" LIKE 'check-off:%'`))
      .rows as {
      id: string
      onceKey: string
    }[],
    audited: (
      await client.query(
        `SELECT detail->>'factId' AS id FROM "AuditRecord" WHERE event = 'fact.recorded' AND "actorAccountId" = $1`,
        [trainer.accountId],
      )
    ).rows.map((row) => row.id as string),
  }))
  const keys = new Set(found.facts.map((fact) => fact.onceKey))
  expect(acknowledged.filter((key) => !keys.has(key))).toEqual([])
  // Fact, audit record and derived spans are one transaction: all three or none.
  expect(new Set(found.audited)).toEqual(new Set(found.facts.map((fact) => fact.id)))
  setEnv({ DATABASE_URL: product.databaseUrl })
  const [{ db }, { verifyAllChains }, { rebuildSpans }] = await Promise.all([
    import('@/lib/db/client'),
    import('@/lib/audit/verify'),
    import('@/lib/certification/commands'),
  ])
  for (const verdict of await verifyAllChains(db())) expect(verdict).toMatchObject({ status: 'whole' })
  expect(await rebuildSpans('larkmoor', { compareOnly: true })).toMatchObject({ changed: 0 })
  console.log(`${acknowledged.length} acknowledged, ${refused} refused or cut off, over ${KILLS} kills`)
}, 400_000)

it('goes on when another program has taken the port of the dead database', async () => {
  const port = Number(new URL(product.databaseUrl).port)
  const pid = databasePid()
  process.kill(pid, 'SIGKILL')
  const squatter = createServer((socket) => socket.destroy())
  await new Promise<void>((resolve, reject) => {
    const tryOnce = () => squatter.listen(port, '127.0.0.1', resolve)
    squatter.on('error', (error: NodeJS.ErrnoException) =>
      // The dead server's last process may hold it a moment longer.
      error.code === 'EADDRINUSE' ? setTimeout(tryOnce, 20) : reject(error),
    )
    tryOnce()
  })
  try {
    for (let i = 0; i < 300 && Number(new URL(product.databaseUrl).port) === port; i++) await pause(100)
    expect(Number(new URL(product.databaseUrl).port)).not.toBe(port)
    await untilHealthy()
    const page = await getPage(`${product.url}/training/larkmoor/${workers[0]}`, trainer.cookie)
    expect(page.document.querySelector('[name="formKey"]')).not.toBeNull()
  } finally {
    squatter.close()
  }
}, 120_000)
