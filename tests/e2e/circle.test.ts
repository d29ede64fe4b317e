/** The whole circle, four people in four browsers: the roster's shortage names somebody; they sign in by a printed card
 *  on a phone, play the lesson, pass the quiz; a trainer checks them off; the next roster seats one more. */
import { readFileSync } from 'node:fs'
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, expect, inject, it } from 'vitest'
import { findEquipmentProfile, findScenario } from '@/lib/scenarios/content'
import { exploreLesson } from '@/lib/scenarios/core/explore'
import { soundPath } from '@/lib/scenarios/core/range'
import { replay } from '@/lib/scenarios/core/replay'
import { transition } from '@/lib/scenarios/core/transition'
import type { PlayEvent } from '@/lib/scenarios/schema'
import { perform } from '@/tests/content/player/keyboard'
import {
  axeFindings,
  DESKTOP,
  openBrowser,
  openContext,
  PHONE,
  sidewaysPixels,
} from '@/tests/support/browser'
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

async function playThrough(page: Page, profileKey: string, graded: boolean): Promise<void> {
  const { scenario } = findScenario('card-returned')!
  const profile = findEquipmentProfile(profileKey)!
  const path = soundPath(exploreLesson(scenario, profile))!
  let state = replay(scenario, profile, []).state
  await page.locator('.play').waitFor()
  for (const event of path as PlayEvent[]) {
    await perform(page, event, state.order)
    const next = transition(scenario, profile, state, event)
    state = next.state
    if (!next.left) continue
    if (!graded && (await page.locator('.play[data-screen=why]').count()) > 0)
      await page.locator('[data-go-on]').click()
    // In graded play the end says nothing, not even which end it is.
    if (graded && scenario.steps.some((step) => step.id === state.step && step.kind === 'end'))
      await page.locator('main .notice[role=status]').waitFor()
    else await page.locator(`.play[data-step="${state.step}"][data-screen=now]`).waitFor()
  }
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

  // The quiz: one question a page; the key is known to this test from the content, never from the page.
  await worker.goto(`${url}/quiz/polls-basics`)
  await worker.locator('main form button[type=submit]').click()
  await worker.waitForURL(/\/quiz\/sit\//)
  const attemptId = new URL(worker.url()).pathname.split('/')[3]!
  const [attempt] = await rows<{ equipmentProfile: string }>(
    `SELECT "equipmentProfile" FROM "Attempt" WHERE id = $1`,
    [attemptId],
  )
  const key = answerKey()
  for (let n = 1; ; n++) {
    await worker.goto(`${url}/quiz/sit/${attemptId}/${n}`)
    const of = Number(/Question \d+ of (\d+)/.exec(await worker.locator('h1').innerText())![1])
    const html = await worker.content()
    expect(html).not.toMatch(/"right"|judgement|explanation/)
    if ((await worker.locator('.play').count()) > 0) {
      await playThrough(worker, attempt!.equipmentProfile, true)
    } else {
      await answer(worker, key)
      await worker.locator('main .sit-foot button[value=next]').click()
      await worker.waitForURL((to) => !to.pathname.endsWith(`/${n}`))
    }
    if (n === of) break
  }
  await worker.goto(`${url}/quiz/sit/${attemptId}/review`)
  await worker.getByRole('button', { name: 'Hand in the quiz' }).click()
  await worker.waitForURL(/\/quiz\/result\//)
  expect(await worker.locator('main').innerText()).toContain('You passed')

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
  const seated = await rows(
    `SELECT 1 FROM "Seating" s JOIN "Roster" r ON r.id = s."rosterId" WHERE r."electionId" = $1 AND r."publishedAt" IS NULL`,
    [election!.id],
  )
  expect(seated).toHaveLength(second.filled)

  // The clerk publishes, and everybody gets paper.
  await clerk.goto(`${url}/office/larkmoor/elections/${election!.id}`)
  await clerk.getByRole('button', { name: /publish/i }).click()
  await clerk.waitForURL(/said=published/)
  const csv = await clerk.request.get(`${url}/office/larkmoor/elections/${election!.id}/roster.csv`)
  expect((await csv.text()).trim().split('\r\n')).toHaveLength(second.seats + 1)

  // The state office sees the county's readiness.
  const state = await signInAsStaff('state@demo.example')
  await state.goto(`${url}/office`)
  expect(await state.locator('main').innerText()).toContain(String(second.filled))
}, 400_000)

interface Question {
  id: string
  kind: string
  version: number
  options?: { id: string; right: boolean }[]
  areas?: { id: string; right: boolean }[]
  items?: { id: string }[]
  answer?: number
  texts: { en: { stem: string } }
}

/** Stem → question, read from the content files. */
function answerKey(): Map<string, Question> {
  const files = [
    'access-setup',
    'accounting',
    'card-handling',
    'check-in',
    'display-settings',
    'notices-without-steering',
    'order-and-safety',
    'right-ballot',
    'verify-and-cast',
  ]
  const all = files.flatMap(
    (file) =>
      (JSON.parse(readFileSync(`content/questions/${file}.json`, 'utf8')) as { questions: Question[] })
        .questions,
  )
  return new Map(all.map((question) => [question.texts.en.stem.replaceAll(/\s+/g, ' '), question]))
}

async function answer(page: Page, key: Map<string, Question>): Promise<void> {
  const shown = (await page.locator('main').innerText()).replaceAll(/\s+/g, ' ')
  const question = [...key.values()].find((q) => shown.includes(q.texts.en.stem.replaceAll(/\s+/g, ' ')))
  if (!question) throw new Error(`no question fits: ${shown.slice(0, 300)}`)
  for (const option of [...(question.options ?? []), ...(question.areas ?? [])])
    if (option.right) await page.locator(`[name="chosen[]"][value="${option.id}"]`).check()
  for (const [i, item] of (question.kind === 'order' ? (question.items ?? []) : []).entries())
    await page.locator(`[name="place-${item.id}"]`).selectOption(String(i + 1))
  if (question.answer !== undefined) await page.locator('[name=number]').fill(String(question.answer))
}
