/** Every page, as the person it is for, through axe (WCAG 2.2 A and AA), reflow at 320 px, and the browser's own error
 *  console. `npm test` takes a seeded sample of language × theme × width for each page; `npm run test:full` takes all. */
import { readdirSync } from 'node:fs'
import type { Browser } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest'
import { seededRandom, seedOf } from '@/lib/kernel/random'
import { offerToken } from '@/lib/offers/link'
import { axeFindings, openBrowser, openContext, sidewaysPixels } from '@/tests/support/browser'
import { getPage, postForm } from '@/tests/support/plain-form'
import { signIn, type Visitor, withClient } from '@/tests/support/visitor'

const FULL = process.env.TEST_FULL === '1'
const LOCALES = ['en', 'es'] as const
const THEMES = ['light', 'dark', 'contrast'] as const
const WIDTHS = [320, 1280] as const

type Who = 'nobody' | 'worker' | 'trainer' | 'clerk' | 'admin' | 'state'
interface World {
  /** A file whose dry run found errors. */
  import: string
  otherWorker: string
  /** A question with figures. */
  question: string
  panel: string
  paper: string
  worker: string
  election: string
  place: string
  seat: string
  offer: string
  class: string
  batch: string
  account: string
  attempt: string
  quiz: string
  result: string
  serial: string
  certified: string
}

/** Page file below app/ → who looks at it, and its address. */
const PAGES: Record<string, [Who, (w: World) => string]> = {
  'page.tsx': ['nobody', () => '/'],
  '(account)/account/page.tsx': ['worker', () => '/account'],
  '(account)/account/sign-ins/page.tsx': ['worker', () => '/account/sign-ins'],
  '(admin)/admin/page.tsx': ['state', () => '/admin'],
  '(admin)/admin/[county]/page.tsx': ['admin', () => '/admin/larkmoor'],
  '(admin)/admin/[county]/accounts/page.tsx': ['admin', () => '/admin/larkmoor/accounts'],
  '(admin)/admin/[county]/accounts/[account]/page.tsx': [
    'admin',
    (w) => `/admin/larkmoor/accounts/${w.account}`,
  ],
  '(admin)/admin/[county]/audit/page.tsx': ['admin', () => '/admin/larkmoor/audit'],
  '(admin)/admin/[county]/jobs/page.tsx': ['admin', () => '/admin/larkmoor/jobs'],
  '(admin)/admin/[county]/keys/page.tsx': ['admin', () => '/admin/larkmoor/keys'],
  '(admin)/admin/[county]/outbox/page.tsx': ['admin', () => '/admin/larkmoor/outbox'],
  '(admin)/admin/[county]/lessons/page.tsx': ['admin', () => '/admin/larkmoor/lessons'],
  '(admin)/admin/[county]/sign-ins/page.tsx': ['admin', () => '/admin/larkmoor/sign-ins'],
  '(admin)/tablet/page.tsx': ['trainer', () => '/tablet'],
  '(office)/office/page.tsx': ['state', () => '/office'],
  '(office)/office/[county]/page.tsx': ['clerk', () => '/office/larkmoor'],
  '(office)/office/[county]/imports/page.tsx': ['clerk', () => '/office/larkmoor/imports'],
  '(office)/office/[county]/imports/[import]/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/imports/${w.import}`,
  ],
  '(office)/office/[county]/people/duplicates/page.tsx': [
    'clerk',
    () => '/office/larkmoor/people/duplicates',
  ],
  '(office)/office/[county]/people/duplicates/[first]/[second]/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/people/duplicates/${w.worker}/${w.otherWorker}`,
  ],
  '(office)/office/[county]/people/page.tsx': ['clerk', () => '/office/larkmoor/people'],
  '(office)/office/[county]/places/page.tsx': ['clerk', () => '/office/larkmoor/places'],
  '(office)/office/[county]/places/new/page.tsx': ['clerk', () => '/office/larkmoor/places/new'],
  '(office)/office/[county]/places/[place]/page.tsx': ['clerk', (w) => `/office/larkmoor/places/${w.place}`],
  '(office)/office/[county]/places/[place]/move/page.tsx': [
    'clerk',
    (w) =>
      `/office/larkmoor/places/${w.place}/move?election=${w.election}&name=Hall&address=2+Road&lat=41.9&lon=-91.3`,
  ],
  '(office)/office/[county]/crews/page.tsx': ['clerk', () => '/office/larkmoor/crews'],
  '(office)/office/[county]/crews/rules/page.tsx': ['clerk', () => '/office/larkmoor/crews/rules'],
  '(office)/office/[county]/crews/waiting/page.tsx': ['clerk', () => '/office/larkmoor/crews/waiting'],
  '(office)/office/[county]/elections/page.tsx': ['clerk', () => '/office/larkmoor/elections'],
  '(office)/office/[county]/service/page.tsx': ['clerk', () => '/office/larkmoor/service'],
  '(office)/office/[county]/people/[id]/correct/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/people/${w.worker}/correct`,
  ],
  '(office)/office/[county]/people/together/page.tsx': [
    'clerk',
    () => '/office/larkmoor/people/together?language=es&change=active',
  ],
  '(office)/office/[county]/people/[id]/page.tsx': ['clerk', (w) => `/office/larkmoor/people/${w.worker}`],
  '(office)/office/[county]/people/[id]/certificates/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/people/${w.certified}/certificates`,
  ],
  '(office)/office/[county]/people/[id]/card/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/people/${w.worker}/card`,
  ],
  '(office)/office/[county]/elections/[id]/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/elections/${w.election}`,
  ],
  '(office)/office/[county]/elections/[id]/compare/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/elections/${w.election}/compare`,
  ],
  '(office)/office/[county]/elections/[id]/papers/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/elections/${w.election}/papers`,
  ],
  '(office)/office/[county]/elections/[id]/print/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/elections/${w.election}/print`,
  ],
  '(office)/office/[county]/elections/[id]/training/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/elections/${w.election}/training`,
  ],
  '(office)/office/[county]/elections/[id]/people/[worker]/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/elections/${w.election}/people/${w.worker}`,
  ],
  '(office)/office/[county]/elections/[id]/seats/[seat]/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/elections/${w.election}/seats/${w.seat}`,
  ],
  '(office)/office/[county]/lapses/page.tsx': ['clerk', () => '/office/larkmoor/lapses'],
  '(office)/office/[county]/reminders/page.tsx': ['admin', () => '/office/larkmoor/reminders'],
  '(office)/office/[county]/reminders/[batch]/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/reminders/${w.batch}`,
  ],
  '(admin)/admin/new-county/page.tsx': ['state', () => '/admin/new-county'],
  '(office)/office/[county]/positions/page.tsx': ['clerk', () => '/office/larkmoor/positions'],
  '(office)/office/[county]/rules/page.tsx': ['clerk', () => '/office/larkmoor/rules'],
  '(office)/office/[county]/rules/[certificate]/page.tsx': [
    'clerk',
    () =>
      '/office/larkmoor/rules/deputy?lines=1&0.what=quizPassed%3Apolls-basics&0.window=months&0.number=24&effectiveFrom=2027-01-01&do=preview',
  ],
  '(office)/office/[county]/elections/[id]/offers/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/elections/${w.election}/offers?show=all`,
  ],
  '(office)/office/[county]/elections/[id]/offers/[offer]/page.tsx': [
    'clerk',
    (w) => `/office/larkmoor/elections/${w.election}/offers/${w.offer}`,
  ],
  '(public)/offer/[token]/page.tsx': ['nobody', (w) => `/offer/${offerToken(w.offer)}`],
  '(worker)/offers/page.tsx': ['worker', () => '/offers'],
  '(public)/sign-in/page.tsx': ['nobody', () => '/sign-in'],
  '(public)/sign-in/code/page.tsx': ['nobody', () => '/sign-in/code'],
  '(public)/sign-in/staff/page.tsx': ['nobody', () => '/sign-in/staff'],
  '(public)/sign-in/authenticator/page.tsx': ['nobody', () => '/sign-in/authenticator'],
  '(public)/verify/page.tsx': ['nobody', () => '/verify?number=typed%20badly'],
  '(public)/verify/[serial]/page.tsx': ['nobody', (w) => `/verify/${w.serial}`],
  '(public)/verify/offline/page.tsx': ['nobody', () => '/verify/offline'],
  '(training)/training/page.tsx': ['state', () => '/training'],
  '(training)/training/[county]/page.tsx': ['trainer', () => '/training/larkmoor'],
  '(training)/training/[county]/classes/page.tsx': ['trainer', () => '/training/larkmoor/classes'],
  '(training)/training/[county]/classes/new/page.tsx': ['trainer', () => '/training/larkmoor/classes/new'],
  '(training)/training/[county]/classes/[class]/page.tsx': [
    'trainer',
    (w) => `/training/larkmoor/classes/${w.class}`,
  ],
  '(training)/training/[county]/classes/[class]/change/page.tsx': [
    'trainer',
    (w) => `/training/larkmoor/classes/${w.class}/change`,
  ],
  '(training)/training/[county]/classes/[class]/sheet/page.tsx': [
    'trainer',
    (w) => `/training/larkmoor/classes/${w.class}/sheet`,
  ],
  '(training)/training/[county]/oath/page.tsx': ['trainer', () => '/training/larkmoor/oath'],
  '(worker)/classes/page.tsx': ['worker', () => '/classes'],
  '(worker)/classes/[class]/page.tsx': ['worker', (w) => `/classes/${w.class}`],
  '(training)/training/[county]/[worker]/page.tsx': ['trainer', (w) => `/training/larkmoor/${w.worker}`],
  '(worker)/certificates/page.tsx': ['worker', () => '/certificates'],
  '(worker)/certificates/record/page.tsx': ['worker', () => '/certificates/record'],
  '(training)/training/[county]/quizzes/[quiz]/pass-mark/page.tsx': [
    'trainer',
    () => '/training/larkmoor/quizzes/polls-basics/pass-mark',
  ],
  '(training)/training/[county]/quizzes/[quiz]/pass-mark/[panel]/page.tsx': [
    'clerk',
    (w) => `/training/larkmoor/quizzes/polls-basics/pass-mark/${w.panel}`,
  ],
  '(training)/training/[county]/quizzes/[quiz]/pass-mark/[panel]/rate/[judge]/page.tsx': [
    'trainer',
    (w) => `/training/larkmoor/quizzes/polls-basics/pass-mark/${w.panel}/rate/0`,
  ],
  '(training)/training/[county]/quizzes/[quiz]/paper/page.tsx': [
    'clerk',
    () => '/training/larkmoor/quizzes/polls-basics/paper',
  ],
  '(training)/training/[county]/quizzes/[quiz]/paper/[attempt]/page.tsx': [
    'trainer',
    (w) => `/training/larkmoor/quizzes/polls-basics/paper/${w.paper}`,
  ],
  '(training)/training/[county]/quizzes/[quiz]/paper/[attempt]/key/page.tsx': [
    'trainer',
    (w) => `/training/larkmoor/quizzes/polls-basics/paper/${w.paper}/key`,
  ],
  '(training)/training/[county]/quizzes/[quiz]/paper/[attempt]/type/page.tsx': [
    'trainer',
    (w) => `/training/larkmoor/quizzes/polls-basics/paper/${w.paper}/type`,
  ],
  '(training)/training/[county]/quizzes/[quiz]/appeals/page.tsx': [
    'clerk',
    () => '/training/larkmoor/quizzes/polls-basics/appeals',
  ],
  '(training)/training/[county]/quizzes/[quiz]/design/page.tsx': [
    'trainer',
    () => '/training/larkmoor/quizzes/polls-basics/design?subject=check-in',
  ],
  '(training)/training/[county]/quizzes/[quiz]/appeals/enter/page.tsx': [
    'trainer',
    () => '/training/larkmoor/quizzes/polls-basics/appeals/enter',
  ],
  '(training)/training/[county]/quizzes/[quiz]/appeals/mend/[question]/page.tsx': [
    'clerk',
    (w) => `/training/larkmoor/quizzes/polls-basics/appeals/mend/${w.question}?version=1&mend=leave-out`,
  ],
  '(training)/training/[county]/quizzes/page.tsx': ['trainer', () => '/training/larkmoor/quizzes'],
  '(training)/training/[county]/quizzes/[quiz]/page.tsx': [
    'trainer',
    () => '/training/larkmoor/quizzes/polls-basics',
  ],
  '(training)/training/[county]/quizzes/[quiz]/questions/[question]/page.tsx': [
    'trainer',
    (w) => `/training/larkmoor/quizzes/polls-basics/questions/${w.question}`,
  ],
  '(worker)/path/page.tsx': ['worker', () => '/path'],
  '(worker)/lessons/[key]/page.tsx': ['worker', () => '/lessons/card-returned'],
  '(worker)/lessons/[key]/job-aid/page.tsx': ['worker', () => '/lessons/card-returned/job-aid'],
  '(worker)/lessons/[key]/play/[attempt]/page.tsx': [
    'worker',
    (w) => `/lessons/card-returned/play/${w.attempt}`,
  ],
  '(worker)/quiz/[key]/page.tsx': ['worker', () => '/quiz/polls-basics'],
  '(worker)/quiz/sit/[attempt]/[n]/page.tsx': ['worker', (w) => `/quiz/sit/${w.quiz}/1`],
  '(worker)/quiz/sit/[attempt]/review/page.tsx': ['worker', (w) => `/quiz/sit/${w.quiz}/review`],
  '(worker)/quiz/result/[attempt]/page.tsx': ['worker', (w) => `/quiz/result/${w.result}`],
}

function* pageFiles(folder: string): Generator<string> {
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    if (entry.isDirectory()) yield* pageFiles(`${folder}/${entry.name}`)
    else if (entry.name === 'page.tsx') yield `${folder}/${entry.name}`.replace(/^app\//, '')
  }
}

const url = inject('appUrl')
const product = { databaseUrl: inject('appDatabaseUrl'), folder: inject('appFolder') }
let browser: Browser
let world: World
const visitors: Partial<Record<Who, Visitor>> = {}

/** Presses the button of the form that starts something, and tells where that led. */
async function startAt(address: string): Promise<string> {
  const context = await openContext(browser, url, { visitor: visitors.worker, javaScript: false })
  const page = await context.newPage()
  await page.goto(url + address)
  await page.locator('main form button[type=submit]').first().click()
  await page.waitForURL((to) => !to.pathname.endsWith(address))
  const { pathname } = new URL(page.url())
  await context.close()
  return pathname
}

/** Looks at a quiz's figures until the job has worked them out. */
async function firstQuestion(): Promise<string> {
  for (let i = 0; i < 200; i++) {
    if (i % 20 === 0)
      await fetch(`${url}/training/larkmoor/quizzes/polls-basics`, {
        headers: { cookie: visitors.trainer!.cookie },
      })
    const found = await withClient(product.databaseUrl, (client) =>
      client.query(`SELECT result -> 'items' -> 0 ->> 'id' AS id FROM "QuizStatistics" LIMIT 1`),
    )
    if (found.rows[0]) return (found.rows[0] as { id: string }).id
    await new Promise((resolve) => setTimeout(resolve, 300))
  }
  throw new Error('the statistics were not worked out within a minute')
}

/** A form on paper, drawn by the trainer's own form. */
async function drawPaper(): Promise<string> {
  const { cookie } = visitors.trainer!
  const { rows } = await withClient(product.databaseUrl, (client) =>
    client.query(`SELECT "countyRef" AS ref FROM "PollWorker" WHERE "countyId" = 'larkmoor'
                  AND "countyRef" LIKE '%0110'`),
  )
  const page = await getPage(`${url}/training/larkmoor/quizzes/polls-basics/paper`, cookie)
  const { ref } = rows[0] as { ref: string }
  await postForm(page, cookie, 'countyRef', { countyRef: ref, locale: 'es' })
  const drawn = await withClient(product.databaseUrl, (client) =>
    client.query(`SELECT id FROM "Attempt" WHERE "onPaper" LIMIT 1`),
  )
  return (drawn.rows[0] as { id: string }).id
}

/** A panel of two with both rounds on one question. */
const beginPanel = (question: string): Promise<string> =>
  withClient(product.databaseUrl, async (client) => {
    const { rows } = await client.query(
      `INSERT INTO "Panel" (id, "countyId", "quizKey", "heldOn", items, judges, ratings, "createdBy")
       VALUES (gen_random_uuid(), 'larkmoor', 'polls-basics', '2026-01-15', $1, $2, $3, gen_random_uuid()) RETURNING id`,
      [
        JSON.stringify([{ id: question, kind: 'question', version: 1, weight: 1 }]),
        JSON.stringify([{ role: 'lead' }, { role: 'trainer' }]),
        JSON.stringify([
          [[0.5], [0.8]],
          [[0.6], [0.7]],
        ]),
      ],
    )
    return (rows[0] as { id: string }).id
  })

/** Uploads a small file and waits for its dry run. */
async function importWithErrors(): Promise<string> {
  const form = new FormData()
  form.append('kind', 'people')
  form.append('file', new Blob(['id,name,born\n1,Ana Lee,1950\n2,Ben,1600\n']), 'people.csv')
  const answer = await fetch(`${url}/office/larkmoor/imports/upload`, {
    method: 'POST',
    body: form,
    headers: { cookie: visitors.clerk!.cookie, origin: url },
    redirect: 'manual',
  })
  const id = answer.headers.get('location')!.split('/').at(-1)!
  for (let i = 0; i < 100; i++) {
    const state = await fetch(`${url}/office/larkmoor/imports/${id}/state`, {
      headers: { cookie: visitors.clerk!.cookie },
    })
    if (((await state.json()) as { status: string }).status === 'checked') return id
    await new Promise((resolve) => setTimeout(resolve, 300))
  }
  throw new Error('the dry run did not end within 30 seconds')
}

beforeAll(async () => {
  browser = await openBrowser()
  const ids = await withClient(product.databaseUrl, async (client) => {
    const one = async (sql: string) => ((await client.query(sql)).rows[0] as { id: string }).id
    return {
      worker: await one(
        `SELECT id FROM "PollWorker" WHERE "countyId" = 'larkmoor' AND "countyRef" LIKE '%0100'`,
      ),
      otherWorker: await one(
        `SELECT id FROM "PollWorker" WHERE "countyId" = 'larkmoor' AND "countyRef" LIKE '%0102'`,
      ),
      me: await one(`SELECT id FROM "PollWorker" WHERE "countyId" = 'larkmoor' AND "countyRef" LIKE '%0101'`),
      election: await one(
        `SELECT id FROM "Election" WHERE "countyId" = 'larkmoor' ORDER BY "heldOn" DESC LIMIT 1`,
      ),
      place: await one(`SELECT id FROM "PollingPlace" WHERE "countyId" = 'larkmoor' ORDER BY code LIMIT 1`),
      class: await one(`SELECT id FROM "TrainingClass" WHERE "countyId" = 'larkmoor' LIMIT 1`),
      certified: await one(
        `SELECT "pollWorkerId" AS id FROM "Certificate" WHERE "countyId" = 'larkmoor' ORDER BY id LIMIT 1`,
      ),
      serial: await one(
        `SELECT serial AS id FROM "Certificate" WHERE "countyId" = 'larkmoor' ORDER BY id LIMIT 1`,
      ),
      account: await one(`SELECT id FROM "Account" WHERE email = 'trainer@larkmoor.example'`),
    }
  })
  const seat = await withClient(
    product.databaseUrl,
    async (client) =>
      (await client.query(`SELECT id FROM "Seat" WHERE "electionId" = $1 LIMIT 1`, [ids.election])).rows[0]
        .id,
  )
  const offer = await withClient(product.databaseUrl, async (client) => {
    const made = await client.query(
      `INSERT INTO "Offer" (id, "countyId", "electionId", "seatId", "pollWorkerId")
       VALUES (gen_random_uuid(), 'larkmoor', $1, $2, $3) RETURNING id`,
      [ids.election, seat, ids.me],
    )
    const { id } = made.rows[0] as { id: string }
    await client.query(
      `INSERT INTO "OfferEvent" ("offerId", sequence, "countyId", kind, at, via, "answerBy")
       VALUES ($1, 0, 'larkmoor', 'offered', now(), 'mail', to_char(now() + interval '3 days', 'YYYY-MM-DD'))`,
      [id],
    )
    return id
  })
  visitors.worker = await signIn(product, { workerId: ids.me })
  visitors.trainer = await signIn(product, { email: 'trainer@larkmoor.example' })
  visitors.clerk = await signIn(product, { email: 'clerk@larkmoor.example' })
  visitors.admin = await signIn(product, { email: 'admin@larkmoor.example' })
  visitors.state = await signIn(product, { email: 'state@demo.example' })
  const attempt = (await startAt('/lessons/card-returned')).split('/').at(-1)!
  const quiz = (await startAt('/quiz/polls-basics')).split('/').at(-2)!
  const question = await firstQuestion()
  const clerk = await openContext(browser, url, { visitor: visitors.clerk, javaScript: false })
  const asking = await clerk.newPage()
  await asking.goto(`${url}/office/larkmoor/reminders`)
  await asking.locator('form:has([name=electionId]) button[type=submit]').click()
  await asking.waitForURL(/reminders\/[0-9a-f-]{36}$/)
  const batch = asking.url().split('/').at(-1)!
  await clerk.close()
  const panel = await beginPanel(question)
  const paper = await drawPaper()
  world = {
    ...ids,
    import: await importWithErrors(),
    batch,
    question,
    panel,
    paper,
    seat,
    offer,
    attempt,
    quiz,
    result: quiz,
  }
})
afterAll(() => browser?.close())

describe('every page', () => {
  it('stands in the table of this test', () => {
    expect([...pageFiles('app')].sort()).toEqual(Object.keys(PAGES).sort())
  })

  for (const [file, [who, address]] of Object.entries(PAGES)) {
    const all = LOCALES.flatMap((locale) =>
      THEMES.flatMap((theme) => WIDTHS.map((width) => ({ locale, theme, width }))),
    )
    const chosen = FULL ? all : seededRandom(seedOf(file)).shuffle(all).slice(0, 1)
    it.concurrent(`${file} has nothing that axe, a narrow screen or the console finds`, async ({
      expect,
    }) => {
      for (const { locale, theme, width } of chosen) {
        const context = await openContext(browser, url, {
          visitor: visitors[who],
          locale,
          theme,
          size: { width, height: 740 },
        })
        const page = await context.newPage()
        const told: string[] = []
        page.on('console', (message) => message.type() === 'error' && told.push(message.text()))
        page.on('pageerror', (error) => told.push(error.message))
        const answer = await page.goto(url + address(world), { waitUntil: 'load' })
        const where = `${file} ${locale} ${theme} ${width}`
        expect.soft(answer?.status(), where).toBe(200)
        expect.soft(await axeFindings(page), where).toEqual([])
        expect.soft(await sidewaysPixels(page), `${where}: wider than the window`).toBe(0)
        expect.soft(told, `${where}: console`).toEqual([])
        expect.soft(await page.locator('h1').count(), `${where}: one main heading`).toBe(1)
        await context.close()
      }
    })
  }
})
