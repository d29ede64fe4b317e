/** The whole circle, four people in four browsers: the roster's shortage names somebody; they sign in by a printed card
 *  on a phone, play the lesson, pass the quiz; a trainer checks them off; the next roster seats one more. */
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, expect, inject, it } from 'vitest'
import {
  axeFindings,
  DESKTOP,
  openBrowser,
  openContext,
  PHONE,
  sidewaysPixels,
} from '@/tests/support/browser'
import { playThrough, sitQuiz } from '@/tests/support/learner'
import { withClient } from '@/tests/support/visitor'

const url = inject('appUrl')
const databaseUrl = inject('appDatabaseUrl')
const PASSWORD = 'larkmoor-demo-2026'
let browser: Browser
const contexts: BrowserContext[] = []

beforeAll(async () => {
  browser = await openBrowser()
})
afterAll(() => browser?.close())

async function somebody(size = DESKTOP): Promise<Page> {
  const context = await openContext(browser, url, { size })
  contexts.push(context)
  const page = await context.newPage()
  page.setDefaultTimeout(60_000)
  return page
}

async function signInAsStaff(email: string): Promise<Page> {
  const page = await somebody()
  await page.goto(`${url}/sign-in/staff`)
  await page.locator('[name=email]').fill(email)
  await page.locator('[name=password]').fill(PASSWORD)
  await page.locator('main button[type=submit]').click()
  await page.waitForURL((to) => !to.pathname.startsWith('/sign-in'))
  return page
}

const rows = <T>(sql: string, values: unknown[] = []): Promise<T[]> =>
  withClient(databaseUrl, async (client) => (await client.query(sql, values)).rows as T[])

interface Outcome {
  filled: number
  seats: number
  training: { personId: string; certificateKey: string; takesSeatId: string }[]
}

/** Presses the button on the board and waits for the job; returns what it found. */
async function fillTheSeats(clerk: Page, electionId: string): Promise<Outcome> {
  const done = async () =>
    rows<{ status: string; outcome: Outcome | null }>(
      `SELECT status, outcome FROM "RosterRun" WHERE "electionId" = $1 ORDER BY "createdAt" DESC LIMIT 1`,
      [electionId],
    )
  const before = (await rows(`SELECT id FROM "RosterRun" WHERE "electionId" = $1`, [electionId])).length
  await clerk.goto(`${url}/office/larkmoor/elections/${electionId}`)
  await clerk.getByRole('button', { name: /^Fill the seats/ }).click()
  for (let i = 0; i < 240; i++) {
    const now = (await rows(`SELECT id FROM "RosterRun" WHERE "electionId" = $1`, [electionId])).length
    const [run] = await done()
    if (now > before && run && !['queued', 'running'].includes(run.status)) {
      expect(run.status).toBe('done')
      return run.outcome!
    }
    await clerk.waitForTimeout(500)
  }
  throw new Error('the roster run did not end within two minutes')
}

it('a shortage names a person, who learns, is tested, checked off and seated; the circle closes', async () => {
  const [election] = await rows<{ id: string }>(
    `SELECT id FROM "Election" WHERE "countyId" = 'larkmoor' ORDER BY "heldOn" DESC LIMIT 1`,
  )
  // The clerk sees the shortage.
  const clerk = await signInAsStaff('clerk@larkmoor.example')
  const first = await fillTheSeats(clerk, election!.id)
  expect(first.filled).toBeLessThan(first.seats)
  const fresh = new Set(
    (
      await rows<{ id: string }>(
        `SELECT p.id FROM "PollWorker" p WHERE "countyId" = 'larkmoor' AND NOT EXISTS (SELECT 1 FROM "Fact" f WHERE f."pollWorkerId" = p.id)`,
      )
    ).map((row) => row.id),
  )
  const named = first.training.find(
    (step) => fresh.has(step.personId) && ['check-in', 'ballot-station'].includes(step.certificateKey),
  )
  expect(named, 'the list names somebody new for work that asks for lesson, quiz and check-off').toBeDefined()
  const [person] = await rows<{ givenName: string; familyName: string }>(
    `SELECT "givenName", "familyName" FROM "PollWorker" WHERE id = $1`,
    [named!.personId],
  )
  const name = `${person!.givenName} ${person!.familyName}`
  await clerk.goto(`${url}/office/larkmoor/elections/${election!.id}/training`)
  expect(await clerk.locator('main').innerText()).toContain(person!.familyName)

  // The clerk prints a sign-in card.
  await clerk.goto(`${url}/office/larkmoor/people/${named!.personId}/card`)
  await clerk.locator('main button[type=submit]').click()
  const code = (await clerk.locator('.card-code').innerText()).trim()

  // The poll worker, on a phone.
  const worker = await somebody(PHONE)
  await worker.goto(`${url}/sign-in`)
  await worker.locator('[name=code]').fill(code)
  await worker.locator('form:has([name=code]) button[type=submit]').click()
  await worker.waitForURL(/\/path/)
  expect(await worker.locator('main').innerText()).toContain(person!.givenName)
  expect(await sidewaysPixels(worker)).toBe(0)
  await worker.goto(`${url}/lessons/card-returned`)
  await worker.locator('main form button[type=submit]').click()
  await worker.waitForURL(/\/play\//)
  expect(await axeFindings(worker)).toEqual([])
  const [lesson] = await rows<{ equipmentProfile: string }>(
    `SELECT "equipmentProfile" FROM "Attempt" WHERE "pollWorkerId" = $1 AND kind = 'lesson'`,
    [named!.personId],
  )
  await playThrough(worker, lesson!.equipmentProfile, false)
  await expect
    .poll(
      () =>
        rows(`SELECT 1 FROM "Fact" WHERE "pollWorkerId" = $1 AND kind = 'lessonFinished'`, [named!.personId]),
      {
        timeout: 20_000,
      },
    )
    .toHaveLength(1)

  // The quiz: one question a page.
  expect(await sitQuiz(worker, { url, databaseUrl })).toContain('You passed')

  // The trainer saw it done by hand.
  const trainer = await signInAsStaff('trainer@larkmoor.example')
  await trainer.goto(`${url}/training/larkmoor?search=${encodeURIComponent(name)}`)
  await trainer.locator(`a[href="/training/larkmoor/${named!.personId}"]`).click()
  await trainer.waitForURL(new RegExp(named!.personId))
  await trainer.locator('[name=mark][value="card-handling:done"]').click()
  await expect
    .poll(
      () => rows(`SELECT 1 FROM "Fact" WHERE "pollWorkerId" = $1 AND kind = 'checkOff'`, [named!.personId]),
      {
        timeout: 20_000,
      },
    )
    .toHaveLength(1)

  // The certificate follows from the three facts alone.
  await worker.goto(`${url}/path`)
  expect(await worker.locator('main').innerText()).toMatch(/Valid through/)

  // The clerk's next run seats one more: the circle is closed.
  const second = await fillTheSeats(clerk, election!.id)
  expect(second.filled).toBe(first.filled + 1)
  const seated = await rows<{ seatId: string }>(
    `SELECT s."seatId" FROM "Seating" s JOIN "Roster" r ON r.id = s."rosterId" WHERE r."electionId" = $1 AND r."publishedAt" IS NULL`,
    [election!.id],
  )
  expect(new Set(seated.map((s) => s.seatId)).size).toBe(second.filled)
  // A seat that two people share has a line for each of them.
  const shared = seated.length - second.filled

  // The clerk publishes, and everybody gets paper.
  await clerk.goto(`${url}/office/larkmoor/elections/${election!.id}`)
  await clerk.getByRole('button', { name: /publish/i }).click()
  await clerk.waitForURL(/said=published/)
  const csv = await clerk.request.get(`${url}/office/larkmoor/elections/${election!.id}/roster.csv`)
  expect((await csv.text()).trim().split('\r\n')).toHaveLength(second.seats + shared + 1)

  // The state office sees the county's readiness.
  const state = await signInAsStaff('state@demo.example')
  await state.goto(`${url}/office`)
  expect(await state.locator('main').innerText()).toContain(String(second.filled))
}, 400_000)
