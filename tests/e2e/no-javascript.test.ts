/** Rules, tablet and oath in a browser without JavaScript: every step is a plain form. */
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest'
import { openBrowser, openContext } from '@/tests/support/browser'
import { signIn, withClient } from '@/tests/support/visitor'

const url = inject('appUrl')
const product = { databaseUrl: inject('appDatabaseUrl'), folder: inject('appFolder') }
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

async function pageOf(email: string): Promise<Page> {
  const visitor = await signIn(product, { email })
  const context = await openContext(browser, url, { visitor, javaScript: false })
  contexts.push(context)
  const page = await context.newPage()
  page.setDefaultTimeout(60_000)
  return page
}

describe('without JavaScript', () => {
  it('a clerk adds a line to a rule, sees whom it touches, and publishes it with a citation', async () => {
    const page = await pageOf('clerk@larkmoor.example')
    await page.goto(`${url}/office/larkmoor/rules/line-and-access`)
    const before = await page.locator('.rule-line').count()
    await page.getByRole('button', { name: 'Add a line' }).click()
    const line = page.locator('.rule-line').nth(before)
    await line.locator('select[name$=".what"]').selectOption('oathSworn:oath')
    await line.locator('select[name$=".window"]').selectOption('sameElection')
    // Months belong to another choice and are out of sight.
    expect(await line.locator('.for-number').isVisible()).toBe(false)
    await page.getByRole('button', { name: 'See what it would do' }).click()
    const main = page.locator('main')
    await main.getByText(/swear the oath of office \(for this election\)/).waitFor()
    expect(await main.getByText(/Would lose it: [1-9]/).count()).toBe(1)
    // Published for a day so far ahead that no other test of this product notices.
    await page.locator('form:has(.rule-line) [name=effectiveFrom]').fill('2090-01-01')
    await page.getByRole('button', { name: 'See what it would do' }).click()
    await main.getByText('judges every day from Jan 1, 2090').waitFor()
    await page.locator('[name=checked]').check()
    await page.locator('form:has([name=checked]) [name=citation]').fill('x')
    await page.getByRole('button', { name: 'Publish version 2' }).click()
    await page.getByText('own legal citation, or a sentence').waitFor()
    await page.locator('[name=checked]').check()
    await page.locator('form:has([name=checked]) [name=citation]').fill('Invented Code 12.3')
    await page.getByRole('button', { name: 'Publish version 2' }).click()
    await page.getByText('is published').waitFor()
    expect(
      await rows(
        `SELECT version, citation FROM "RuleSet" WHERE "countyId" = 'larkmoor' AND "certificateKey" = 'line-and-access' ORDER BY version DESC LIMIT 1`,
      ),
    ).toEqual([{ version: 2, citation: 'Invented Code 12.3' }])
  })

  it('a trainer signs somebody in, checks a task off and records an oath', async () => {
    const [held] = await rows<{ id: string }>(
      `INSERT INTO "TrainingClass" (id, "countyId", topic, "placeName", "placeAddress", "startsAt", "endsAt", seats, "trainerName")
       VALUES (gen_random_uuid(), 'larkmoor', 'lead-class', 'Hall', '1 Road', now() - interval '1 minute', now() + interval '1 hour', 5, 'T')
       RETURNING id`,
    )
    const [person] = await rows<{ id: string; countyRef: string; familyName: string }>(
      `SELECT id, "countyRef", "familyName" FROM "PollWorker" WHERE "countyId" = 'larkmoor' AND active ORDER BY "countyRef" DESC OFFSET 20 LIMIT 1`,
    )
    const page = await pageOf('trainer@larkmoor.example')
    await page.goto(`${url}/training/larkmoor/classes/${held!.id}`)
    await page.locator('[name=countyRef]').fill(person!.countyRef)
    await page.getByRole('button', { name: 'Add to the list' }).click()
    await page.getByText('is on the list.').waitFor()
    await page.goto(`${url}/training/larkmoor/classes/${held!.id}`)
    await page.getByRole('button', { name: /I am here/ }).click()
    await page.getByRole('button', { name: /✓ Here/ }).waitFor()
    await page.goto(`${url}/training/larkmoor/${person!.id}`)
    await page.locator('[name=mark][value="card-handling:repeat"]').click()
    await page.getByText('Recorded: to repeat.').waitFor()
    await page.goto(`${url}/training/larkmoor/oath?search=${person!.countyRef}`)
    await page.locator('[name=administeredBy]').fill('Dana Reyes, deputy clerk')
    await page.locator(`[value="${person!.id}"]`).check()
    await page.getByRole('button', { name: 'Record the oath' }).click()
    await page.getByText('before Dana Reyes, deputy clerk').waitFor()
    expect(
      await rows(
        `SELECT kind, "witnessedBy" FROM "Fact" WHERE "pollWorkerId" = $1 AND "recordedAt" > now() - interval '5 minutes' ORDER BY "recordedAt"`,
        [person!.id],
      ),
    ).toEqual([
      { kind: 'checkOffToRepeat', witnessedBy: expect.any(String) },
      { kind: 'oathSworn', witnessedBy: 'Dana Reyes, deputy clerk' },
    ])
  })

  it('a clerk notes that two are to be kept apart; a refusal keeps what was typed, and it is taken back', async () => {
    const [one, other] = await rows<{ id: string; countyRef: string; givenName: string; familyName: string }>(
      `SELECT id, "countyRef", "givenName", "familyName" FROM "PollWorker" WHERE "countyId" = 'larkmoor' AND active ORDER BY "countyRef" LIMIT 2 OFFSET 100`,
    )
    const page = await pageOf('clerk@larkmoor.example')
    await page.goto(`${url}/office/larkmoor/people/${one!.id}`)
    const section = page.locator('section[aria-labelledby=pairs]')
    const form = section.locator('form:has([name=otherRef])')
    await section.getByText('Note a pair').click()
    await form.locator('[name=kind]').selectOption('apart')
    await form.locator('[name=otherRef]').fill('nobody')
    await form.locator('[name=note]').fill('Asked for it.')
    await form.getByRole('button', { name: 'Note it' }).click()
    // Open again with its answer.
    await section.getByText(/Nobody in this county has this number/).waitFor()
    expect(await form.locator('[name=otherRef]').inputValue()).toBe('nobody')
    expect(await form.locator('[name=kind]').inputValue()).toBe('apart')
    expect(await form.locator('[name=note]').inputValue()).toBe('Asked for it.')
    await form.locator('[name=otherRef]').fill(other!.countyRef)
    await form.getByRole('button', { name: 'Note it' }).click()
    await section.getByText(`apart from ${other!.givenName} ${other!.familyName}`).first().waitFor()
    await section.getByRole('link', { name: `${other!.givenName} ${other!.familyName}` }).click()
    await page.getByRole('heading', { level: 1, name: `${other!.givenName} ${other!.familyName}` }).waitFor()
    await section.getByRole('link', { name: `${one!.givenName} ${one!.familyName}` }).waitFor()
    await section.getByRole('button', { name: /^Take back/ }).click()
    await section.getByText(/taken back on/).waitFor()
    expect(await section.getByRole('button', { name: /^Take back/ }).count()).toBe(0)
  })
})
