/** What a phone needs for the first lesson: JavaScript over the wire and the largest contentful paint, on a slow line and
 *  a slow processor, beside a bare page of the same framework. `npm run bench -- first-lesson [loads]`.
 *  Aims: under 170 kB of JavaScript (gzip), and 1.5 s at 1.6 Mbit/s, 150 ms and a fourth of the processor. */
import type { Browser } from 'playwright-core'
import { ensureBuild } from '@/lib/cli/prepare'
import { startBare } from '@/tests/support/bare'
import { openBrowser, openContext, PHONE } from '@/tests/support/browser'
import { startProduct } from '@/tests/support/product'
import { signIn, type Visitor, withClient } from '@/tests/support/visitor'

const LOADS = Number(process.argv[2] ?? 5)
const LINE = { offline: false, latency: 150, downloadThroughput: 1.6e6 / 8, uploadThroughput: 0.75e6 / 8 }
const SLOW_DOWN = 4

interface Load {
  lcpMs: number
  scriptBytes: number
  allBytes: number
}

/** One visit with an empty cache. Bytes of bodies as they came over the line (gzip). */
async function visit(browser: Browser, url: string, visitor?: Visitor): Promise<Load> {
  const context = await openContext(browser, url, { size: PHONE, visitor })
  const page = await context.newPage()
  const cdp = await context.newCDPSession(page)
  await cdp.send('Network.enable')
  await cdp.send('Network.emulateNetworkConditions', LINE)
  await cdp.send('Emulation.setCPUThrottlingRate', { rate: SLOW_DOWN })
  const kind = new Map<string, string>()
  const bytes = { script: 0, all: 0 }
  cdp.on('Network.responseReceived', (e) => kind.set(e.requestId, e.type))
  cdp.on('Network.dataReceived', (e) => {
    bytes.all += e.encodedDataLength
    if (kind.get(e.requestId) === 'Script') bytes.script += e.encodedDataLength
  })
  await page.addInitScript(() => {
    new PerformanceObserver((list) => {
      for (const entry of list.getEntries()) (window as unknown as { lcp: number }).lcp = entry.startTime
    }).observe({ type: 'largest-contentful-paint', buffered: true })
  })
  const answer = await page.goto(url, { waitUntil: 'networkidle' })
  if (answer?.status() !== 200) throw new Error(`${url}: status ${answer?.status()}`)
  await page.waitForTimeout(1000)
  const lcpMs = await page.evaluate(() => (window as unknown as { lcp: number }).lcp)
  await context.close()
  return { lcpMs, scriptBytes: bytes.script, allBytes: bytes.all }
}

const middle = (values: number[]) => values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)]!

ensureBuild(console.log)
const product = await startProduct({ extra: { PORT: '4370' } })
const bare = await startBare()
const browser = await openBrowser()
try {
  const workers = await withClient(product.databaseUrl, (client) =>
    client.query(
      `SELECT p.id FROM "PollWorker" p JOIN "Account" a ON a."pollWorkerId" = p.id ORDER BY p."countyRef" LIMIT 1`,
    ),
  )
  const worker = await signIn(product, { workerId: (workers.rows[0] as { id: string }).id })
  // The lesson is begun by its own button, as a person begins it.
  const context = await openContext(browser, product.url, { size: PHONE, visitor: worker })
  const page = await context.newPage()
  await page.goto(`${product.url}/lessons/card-returned`)
  await page.locator('main form button[type=submit]').click()
  await page.waitForURL(/\/play\//)
  const play = page.url()
  await context.close()

  const targets: [string, string, Visitor | undefined][] = [
    ['bare page of the framework (reference)', bare.url, undefined],
    ['sign-in page', `${product.url}/sign-in`, undefined],
    ['my path', `${product.url}/path`, worker],
    ['first lesson, being played', play, worker],
  ]
  console.log(
    `${LOADS} visits each with an empty cache; 1.6 Mbit/s, 150 ms, processor slowed ${SLOW_DOWN} times; middle values\n`,
  )
  console.log(
    `${'page'.padEnd(42)} ${'LCP ms'.padStart(8)} ${'ratio'.padStart(6)} ${'script kB'.padStart(10)} ${'ratio'.padStart(6)} ${'all kB'.padStart(8)}`,
  )
  let reference: Load | undefined
  for (const [name, url, visitor] of targets) {
    await visit(browser, url, visitor) // The server's own first time is not the phone's.
    const loads: Load[] = []
    for (let i = 0; i < LOADS; i++) loads.push(await visit(browser, url, visitor))
    const lcpMs = middle(loads.map((l) => l.lcpMs))
    const scriptBytes = middle(loads.map((l) => l.scriptBytes))
    const allBytes = middle(loads.map((l) => l.allBytes))
    reference ??= { lcpMs, scriptBytes, allBytes }
    console.log(
      `${name.padEnd(42)} ${lcpMs.toFixed(0).padStart(8)} ${(lcpMs / reference.lcpMs).toFixed(2).padStart(6)} ${(scriptBytes / 1000).toFixed(0).padStart(10)} ${(scriptBytes / reference.scriptBytes).toFixed(2).padStart(6)} ${(allBytes / 1000).toFixed(0).padStart(8)}`,
    )
  }
} finally {
  await browser.close()
  bare.stop()
  await product.stop()
}
