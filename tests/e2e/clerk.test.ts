/** What a clerk sees after pressing a button: what was saved, why something was refused, that work is under way; and a
 *  correction from the person who asks for it to the answer. */
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, expect, inject, it } from 'vitest'
import { axeFindings, openBrowser, openContext, PHONE, sidewaysPixels } from '@/tests/support/browser'
import { signIn, withClient } from '@/tests/support/visitor'

const url = inject('appUrl')
const product = { databaseUrl: inject('appDatabaseUrl'), folder: inject('appFolder') }
const office = `${url}/office/fennick`
const TIMEOUT = 120_000
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
  options: { javaScript?: boolean; size?: typeof PHONE } = {},
): Promise<Page> {
  const context = await openContext(browser, url, { visitor: await signIn(product, who), ...options })
  contexts.push(context)
  const page = await context.newPage()
  page.setDefaultTimeout(60_000)
  return page
}
const clerk = { email: 'clerk@fennick.example' }

it(
  'shows what was chosen and saved, also when a page stays where it is',
  async () => {
    const page = await pageOf(clerk)
    await page.goto(`${office}/service`)
    const residents = page.locator('[name=residents]')
    expect(await residents.inputValue()).toBe('anyone')
    for (const choice of ['precinct', 'anyone']) {
      await residents.selectOption(choice)
      await page.getByRole('button', { name: 'Save these rules' }).click()
      await page
        .getByText(
          choice === 'precinct'
            ? /have no home precinct on record: no/
            : /^Saved\. From now on rosters follow this\.$/,
        )
        .waitFor()
      expect(await residents.inputValue(), 'after saving').toBe(choice)
      const [county] = await rows<{ kept: string }>(
        `SELECT settings->'serviceRules'->>'residents' AS kept FROM "County" WHERE id = 'fennick'`,
      )
      expect(county!.kept).toBe(choice)
    }
  },
  TIMEOUT,
)

it(
  'keeps what a roster should keep to, says what is missing, and loses nothing that was typed',
  async () => {
    for (const javaScript of [true, false]) {
      const page = await pageOf(clerk, { javaScript })
      await page.goto(`${office}/service`)
      const form = page.locator('form:has([name=firstParty])')
      const save = form.getByRole('button', { name: 'Save these wishes' })
      await form.locator('[name=balance]').selectOption('counted')
      await form.locator('[name=firstParty]').fill('Elm')
      await form.locator('[name=secondParty]').fill('')
      await form.locator('[name=changeMiles]').fill('1.5')
      await save.click()
      await page.getByText(/Name the two parties .* Nothing was saved/).waitFor()
      expect(await form.locator('[name=firstParty]').inputValue()).toBe('Elm')
      expect(await form.locator('[name=changeMiles]').inputValue()).toBe('1.5')
      await form.locator('[name=secondParty]').fill('Oak')
      await form.locator('[name=leadAndDeputy]').selectOption('different')
      await form.locator('[name=deputy]').selectOption('check-in')
      await save.click()
      await page.getByText(/^Saved\. The next run follows this/).waitFor()
      const [county] = await rows<{ kept: object }>(
        `SELECT settings->'rosterRules' AS kept FROM "County" WHERE id = 'fennick'`,
      )
      expect(county!.kept).toMatchObject({
        balance: 'counted',
        firstParty: 'Elm',
        secondParty: 'Oak',
        leadAndDeputy: 'different',
        deputy: 'check-in',
        changeMiles: 1.5,
      })
      await page.goto(`${office}/service`)
      expect(await form.locator('[name=deputy]').inputValue()).toBe('check-in')
      await rows(`UPDATE "County" SET settings = settings - 'rosterRules' WHERE id = 'fennick'`)
    }
  },
  TIMEOUT,
)

it(
  'says without JavaScript why a form under a fold was refused',
  async () => {
    const page = await pageOf(clerk, { javaScript: false, size: PHONE })
    const [place] = await rows<{ id: string }>(
      `SELECT id FROM "PollingPlace" WHERE "countyId" = 'fennick' ORDER BY code LIMIT 1`,
    )
    await page.goto(`${office}/places/${place!.id}`)
    await page.getByText('Serve another precinct').click()
    await page.locator('[name=precinctCode]').fill('Z-99')
    await page.getByRole('button', { name: 'Serve it here' }).click()
    const [known] = await rows<{ code: string }>(
      `SELECT code FROM "Precinct" WHERE "countyId" = 'fennick' ORDER BY code LIMIT 1`,
    )
    const why = page.getByText(`One that exists is ${known!.code}`)
    await why.waitFor()
    expect(await why.isVisible()).toBe(true)
    expect(await sidewaysPixels(page)).toBe(0)
  },
  TIMEOUT,
)

it(
  'shows at once that a packet is being made',
  async () => {
    const [election] = await rows<{ id: string }>(
      `INSERT INTO "Election" (id, "countyId", name, kind, "heldOn")
       VALUES (gen_random_uuid(), 'fennick', 'Paper trial ' || gen_random_uuid(), 'special', '2028-11-21') RETURNING id`,
    )
    const [seat] = await rows<{ id: string }>(
      `INSERT INTO "Seat" (id, "countyId", "electionId", "pollingPlaceId", "positionId", "servesOn", number)
       SELECT gen_random_uuid(), 'fennick', $1, l.id, p.id, '2028-11-21', 1
       FROM (SELECT id FROM "PollingPlace" WHERE "countyId" = 'fennick' ORDER BY code LIMIT 1) l,
         "Position" p WHERE p."countyId" = 'fennick' AND p.key = 'check-in' RETURNING id`,
      [election!.id],
    )
    await rows(
      `WITH r AS (INSERT INTO "Roster" (id, "countyId", "electionId", version)
         VALUES (gen_random_uuid(), 'fennick', $1, 1) RETURNING id)
       INSERT INTO "Seating" (id, "countyId", "rosterId", "seatId", "pollWorkerId", "morningOn", "afternoonOn")
       SELECT gen_random_uuid(), 'fennick', r.id, $2, w.id, '2028-11-21', '2028-11-21'
       FROM r, (SELECT id FROM "PollWorker" WHERE "countyId" = 'fennick' LIMIT 1) w`,
      [election!.id, seat!.id],
    )
    const page = await pageOf(clerk)
    await page.goto(`${office}/elections/${election!.id}/papers`)
    await page.getByRole('button', { name: 'Make the packet' }).click()
    // Under way, or done already: never the page as it was, though the address changed by its '#' alone.
    await page
      .getByRole('button', { name: 'Stop making the packet' })
      .or(page.getByRole('button', { name: 'Make the packet again' }))
      .waitFor({ timeout: 15_000 })
  },
  TIMEOUT,
)

it(
  'keeps a table with words that are only heard inside its box at 320 px',
  async () => {
    await rows(
      `INSERT INTO "DuplicateSearch" ("countyId", "askedAt", "finishedAt", people, pairs)
       SELECT 'fennick', now(), now(), 2, jsonb_build_array(jsonb_build_object('first', min(id::text), 'second', max(id::text),
         'nameSimilarity', 1, 'agree', jsonb_build_array('name', 'email', 'phone')))
       FROM (SELECT id FROM "PollWorker" WHERE "countyId" = 'fennick' LIMIT 2) w
       ON CONFLICT ("countyId") DO UPDATE SET pairs = EXCLUDED.pairs, "finishedAt" = now()`,
    )
    const page = await pageOf(clerk, { size: PHONE })
    await page.goto(`${office}/people/duplicates`)
    await page.getByText('1 open pair').waitFor()
    expect(await sidewaysPixels(page)).toBe(0)
    expect(await axeFindings(page)).toEqual([])
  },
  TIMEOUT,
)

it(
  'takes a correction from the person who asks for it to the answer that they read',
  async () => {
    const [worker] = await rows<{ id: string; name: string }>(
      `SELECT w.id, w."givenName" || ' ' || w."familyName" AS name FROM "PollWorker" w
       JOIN "Account" a ON a."pollWorkerId" = w.id AND a.locale = 'en' WHERE w."countyId" = 'larkmoor' ORDER BY w."countyRef" LIMIT 1`,
    )
    const person = await pageOf({ workerId: worker!.id }, { size: PHONE, javaScript: false })
    await person.goto(`${url}/certificates/record`)
    await person.getByRole('button', { name: 'Ask for a correction' }).click()
    await person.getByText('Write what is wrong, and how it should be.').waitFor()
    await person.locator('[name=text]').fill('My phone is 555-0111 now.')
    await person.getByRole('button', { name: 'Ask for a correction' }).click()
    await person.getByText('The election office has it.').waitFor()
    expect(await sidewaysPixels(person)).toBe(0)

    const page = await pageOf({ email: 'clerk@larkmoor.example' })
    await page.goto(`${url}/office/larkmoor`)
    await page.locator('.notice', { hasText: 'asked for' }).getByRole('link', { name: worker!.name }).click()
    await page.getByText('My phone is 555-0111 now.').waitFor()
    expect(await axeFindings(page)).toEqual([])
    await page.getByRole('link', { name: 'Correct these data' }).first().click()
    await page.locator('[name=phone]').fill('555-0111')
    await page.getByRole('button', { name: 'Save' }).click()
    await page.getByLabel('What was done').fill('Your phone is corrected.')
    await page.getByRole('button', { name: 'Answer and close' }).click()
    await page.getByText('Answered.').waitFor()
    expect(await page.getByText('Asks for a correction').count()).toBe(0)

    await person.goto(`${url}/certificates/record`)
    await person.locator('#correct ~ div', { hasText: 'Your phone is corrected.' }).waitFor()
    expect(await person.locator('main').innerText()).toContain('555-0111')
  },
  TIMEOUT,
)
