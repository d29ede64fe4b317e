/** What reaches a browser while somebody sits a quiz: pages, their server-component payloads, answers of actions and
 *  routes, scripts. Nothing in it tells which answer is right. */
import type { Browser, Page } from 'playwright-core'
import { afterAll, beforeAll, expect, inject, it } from 'vitest'
import type { SittingDefinition } from '@/lib/assessment/core/sitting'
import { openBrowser, openContext } from '@/tests/support/browser'
import { signIn, withClient } from '@/tests/support/visitor'

const url = inject('appUrl')
const product = { databaseUrl: inject('appDatabaseUrl'), folder: inject('appFolder') }
let browser: Browser
beforeAll(async () => {
  browser = await openBrowser()
})
afterAll(() => browser?.close())

const row = <T>(sql: string, values: unknown[] = []): Promise<T> =>
  withClient(product.databaseUrl, async (client) => (await client.query(sql, values)).rows[0] as T)

/** The longest run of words without marks that HTML or JSON would write in another way. */
const runOf = (text: string): string =>
  text
    .split(/[^\p{L}\p{N} ,]+/u)
    .map((part) => part.trim())
    .sort((a, b) => b.length - a.length)[0]!

/** Everything that the person must not read before the quiz is marked. */
function keysOf({ questions, stories }: SittingDefinition): string[] {
  const shown = questions.flatMap((q) =>
    [q.texts.en, q.texts.es].flatMap((t) => [t.stem, ...Object.values(t.options)]),
  )
  return [
    ...questions.flatMap((q) => [q.texts.en.explanation, q.texts.es.explanation]),
    ...stories.flatMap(({ scenario }) =>
      [scenario.texts.en, scenario.texts.es].flatMap((texts) =>
        Object.entries(texts).flatMap(([key, text]) => (key.endsWith('.why') ? [text] : [])),
      ),
    ),
  ]
    .map(runOf)
    .filter((run) => run.length >= 16 && !shown.some((text) => text.includes(run)))
}

/** Keeps every body that arrives, with where it came from. */
function listen(page: Page): { bodies: { from: string; text: string }[]; settled: () => Promise<void> } {
  const bodies: { from: string; text: string }[] = []
  const reading: Promise<void>[] = []
  page.on('response', (response) => {
    reading.push(
      response
        .text()
        .then((text) => void bodies.push({ from: response.url(), text }))
        // A redirect has no body.
        .catch(() => undefined),
    )
  })
  return {
    bodies,
    settled: async () => {
      await page.waitForLoadState('networkidle')
      await Promise.all(reading)
    },
  }
}

it('sends no explanation and no key before the quiz is handed in, and the explanations afterwards', async () => {
  const { id: workerId } = await row<{ id: string }>(
    `SELECT w.id FROM "PollWorker" w JOIN "Account" a ON a."pollWorkerId" = w.id
     WHERE w."countyId" = 'larkmoor' AND w.active AND a."disabledAt" IS NULL
       AND NOT EXISTS (SELECT 1 FROM "Attempt" t WHERE t."pollWorkerId" = w.id AND t.kind = 'quiz')
     ORDER BY w."countyRef" DESC LIMIT 1`,
  )
  const visitor = await signIn(product, { workerId })
  const context = await openContext(browser, url, { visitor })
  const page = await context.newPage()
  const heard = listen(page)
  await page.goto(`${url}/quiz/polls-basics`)
  await page.locator('main form button[type=submit]').first().click()
  await page.waitForURL(/\/quiz\/sit\/[0-9a-f-]{36}\/1$/)
  const attemptId = page.url().split('/').at(-2)!
  const { definition } = await row<{ definition: SittingDefinition }>(
    `SELECT d.definition FROM "Attempt" t JOIN "DefinitionVersion" d ON d.hash = t."definitionHash" WHERE t.id = $1`,
    [attemptId],
  )
  const pages = definition.questions.length + definition.stories.length
  for (let n = 1; n <= pages; n++) {
    await page.goto(`${url}/quiz/sit/${attemptId}/${n}`)
    const options = page.locator('main input[type=radio], main input[type=checkbox]')
    if ((await options.count()) > 0) await options.first().check()
    const next = page.locator('main form button[data-kind=main]')
    if ((await next.count()) > 0) {
      await next.last().click()
      await page.waitForURL((to) => !to.pathname.endsWith(`/${n}`))
    }
    await heard.settled()
    // As the router asks for the page: its server-component payload alone.
    const payload = await context.request.get(`${url}/quiz/sit/${attemptId}/${n}`, { headers: { RSC: '1' } })
    expect(payload.headers()['content-type']).toContain('text/x-component')
    heard.bodies.push({ from: `payload of question ${n}`, text: await payload.text() })
  }
  const [story] = definition.stories
  const first = story?.scenario.steps.find((step) => step.id === story.scenario.start)
  const option = first && 'options' in first ? first.options[0]!.id : ''
  for (let n = 1; n <= pages; n++) {
    const answer = await context.request.post(`${url}/api/attempts/${attemptId}/story/${n}`, {
      data: { from: 0, event: { type: 'choose', option }, locale: 'en' },
      headers: { origin: url },
    })
    if (answer.ok()) heard.bodies.push({ from: `step of the story ${n}`, text: await answer.text() })
  }
  expect(heard.bodies.some((body) => body.from.startsWith('step of the story'))).toBe(true)
  // The result's address, asked for too early.
  await page.goto(`${url}/quiz/result/${attemptId}`)
  await page.goto(`${url}/quiz/sit/${attemptId}/review`)
  await heard.settled()

  const keys = keysOf(definition)
  expect(keys.length).toBeGreaterThan(definition.questions.length)
  expect(heard.bodies.filter((body) => body.from.endsWith('.js')).length).toBeGreaterThan(3)
  // The questions themselves were heard: the search would find what is there.
  const all = heard.bodies.map((body) => body.text).join('\n')
  for (const question of definition.questions) expect(all).toContain(runOf(question.texts.en.stem))
  for (const { from, text } of heard.bodies) {
    for (const key of keys) expect(text.includes(key), `${from} tells “${key}”`).toBe(false)
    if (from.endsWith('.js')) continue
    for (const field of ['right', 'critical', 'explanation', 'judgement', 'lifecycle', 'band', 'practise'])
      expect(text.includes(`"${field}":`) || text.includes(`\\"${field}\\":`), `${from}: ${field}`).toBe(
        false,
      )
  }

  const before = heard.bodies.length
  await page.locator('main form:has([name=attemptId]) button[type=submit]').click()
  await page.waitForURL(/\/quiz\/result\//)
  // A page that a form led to may be gone before its body was read.
  await page.goto(page.url())
  await heard.settled()
  const told = heard.bodies
    .slice(before)
    .map((body) => body.text)
    .join('\n')
  expect(keys.filter((key) => told.includes(key)).length).toBeGreaterThan(0)
  await context.close()
})
