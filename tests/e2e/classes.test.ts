/** A class from the plan to the path: the trainer plans it, a poll worker books it on the phone, signs in on a tablet
 *  that has lost its connection, and sees it done on the path. */
import ICAL from 'ical.js'
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, expect, inject, it } from 'vitest'
import { addDays, civilDateAt } from '@/lib/kernel/dates'
import {
  axeFindings,
  DESKTOP,
  openBrowser,
  openContext,
  PHONE,
  sidewaysPixels,
} from '@/tests/support/browser'
import { signIn, withClient } from '@/tests/support/visitor'

const url = inject('appUrl')
const product = { databaseUrl: inject('appDatabaseUrl'), folder: inject('appFolder') }
const ZONE = 'America/Chicago'
let browser: Browser
const contexts: BrowserContext[] = []
beforeAll(async () => {
  browser = await openBrowser()
})
afterAll(async () => {
  for (const context of contexts) await context.close()
  await browser?.close()
})

const rows = <T>(sql: string, values: unknown[] = []): Promise<T[]> =>
  withClient(product.databaseUrl, async (client) => (await client.query(sql, values)).rows as T[])

async function pageOf(
  who: Parameters<typeof signIn>[1],
  size = DESKTOP,
): Promise<{ page: Page; context: BrowserContext }> {
  const context = await openContext(browser, url, { size, visitor: await signIn(product, who) })
  contexts.push(context)
  const page = await context.newPage()
  page.setDefaultTimeout(60_000)
  return { page, context }
}

it('a class is booked on the phone, attended by the tablet’s sheet without a connection, and done on the path', async () => {
  const [person] = await rows<{ id: string; familyName: string }>(
    `SELECT w.id, w."familyName" FROM "PollWorker" w JOIN "Account" a ON a."pollWorkerId" = w.id
     WHERE w."countyId" = 'larkmoor' AND w.active AND NOT EXISTS (
       SELECT 1 FROM "Fact" f WHERE f."pollWorkerId" = w.id AND f.kind = 'classAttended')
     ORDER BY w."countyRef" DESC LIMIT 1`,
  )
  const { page: trainer, context: tablet } = await pageOf({ email: 'trainer@larkmoor.example' })

  // The trainer plans a class.
  const on = addDays(civilDateAt(new Date(), ZONE), 20)
  await trainer.goto(`${url}/training/larkmoor/classes/new`)
  await trainer.locator('[name=topic]').selectOption('lead-class')
  await trainer.locator('[name=on]').fill(on)
  await trainer.locator('[name=from]').fill('17:15')
  await trainer.locator('[name=until]').fill('18:45')
  await trainer.locator('[name=placeName]').fill('Library, quiet room')
  await trainer.locator('[name=placeAddress]').fill('3 Elm Street')
  await trainer.locator('[name=seats]').fill('4')
  await trainer.getByRole('button', { name: 'Plan this class' }).click()
  await trainer.waitForURL(/classes\/[0-9a-f-]{36}$/)
  const classId = trainer.url().split('/').at(-1)!

  // The poll worker finds it from the path, on a phone.
  const { page: phone } = await pageOf({ workerId: person!.id }, PHONE)
  await phone.goto(`${url}/path`)
  const choice = phone.locator('details:has([name=positionKey]) > summary')
  if ((await choice.count()) > 0) await choice.click()
  await phone.locator('[name=positionKey][value=lead]').check()
  await phone.locator('form:has([name=positionKey]) button[type=submit]').click()
  await phone.locator('.path-steps a[href="/classes?topic=lead-class"]').first().click()
  await phone.locator(`a[href="/classes/${classId}"]`).click()
  await phone.getByRole('button', { name: 'Book a seat' }).click()
  await phone.getByText('It is yours until you give it up.').waitFor()
  expect(await axeFindings(phone)).toEqual([])
  expect(await sidewaysPixels(phone)).toBe(0)
  const calendar = await phone.request.get(`${url}/classes/${classId}/class.ics`)
  const event = new ICAL.Event(
    new ICAL.Component(ICAL.parse(await calendar.text())).getFirstSubcomponent('vevent')!,
  )
  const [planned] = await rows<{ startsAt: Date }>(`SELECT "startsAt" FROM "TrainingClass" WHERE id = $1`, [
    classId,
  ])
  expect(event.startDate.toJSDate()).toEqual(planned!.startsAt)
  expect(civilDateAt(planned!.startsAt, ZONE)).toBe(on)
  await phone.goto(`${url}/path`)
  await phone.getByText('You have a seat:').first().waitFor()

  // The day comes.
  await rows(
    `UPDATE "TrainingClass" SET "startsAt" = now() - interval '1 minute', "endsAt" = now() + interval '1 hour' WHERE id = $1`,
    [classId],
  )
  await trainer.goto(`${url}/training/larkmoor/classes/${classId}`, { waitUntil: 'networkidle' })
  expect(await axeFindings(trainer)).toEqual([])
  const line = trainer.locator('.room-list > li', { hasText: person!.familyName })
  await tablet.setOffline(true)
  await line.getByRole('button', { name: /I am here/ }).click()
  await line.getByRole('button', { name: /✓ Here/ }).waitFor()
  await line.locator('summary', { hasText: 'Hand tasks' }).click()
  await line.locator('[name=mark][value="card-handling:repeat"]').click()
  await line.locator('[name=mark][value="opening-and-closing:done"]').click()
  await trainer.getByText('No connection: 3 records kept on this tablet.').waitFor()
  const onServer = () =>
    rows<{ kind: string; topic: string; witnessedBy: string }>(
      `SELECT kind, topic, "witnessedBy" FROM "Fact" WHERE "pollWorkerId" = $1 AND kind LIKE 'checkOff%'
         AND "recordedAt" > now() - interval '5 minutes' ORDER BY "recordedAt"`,
      [person!.id],
    )
  expect(await onServer()).toEqual([])
  await tablet.setOffline(false)
  await expect.poll(onServer, { timeout: 40_000 }).toMatchObject([
    { kind: 'checkOffToRepeat', topic: 'card-handling' },
    { kind: 'checkOff', topic: 'opening-and-closing', witnessedBy: expect.any(String) },
  ])
  expect(
    await rows(`SELECT 1 FROM "ClassBooking" WHERE "classId" = $1 AND "signedInAt" IS NOT NULL`, [classId]),
  ).toHaveLength(1)

  // The sheet is closed, and the path knows.
  await trainer.goto(`${url}/training/larkmoor/classes/${classId}`)
  await trainer.getByRole('button', { name: 'Close the sheet' }).click()
  await trainer.getByText('attendance is on record').waitFor()
  await phone.goto(`${url}/path`)
  const step = phone.locator('.path-steps > li', { hasText: 'Attend the class for leads' })
  expect(await step.getAttribute('data-done')).toBe('true')
  await phone.goto(`${url}/classes/${classId}`)
  await phone.getByText('You were there').waitFor()
}, 300_000)
