/** A clerk of an empty county brings in places and people from files, without JavaScript, and merges a double. */
import type { Browser, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest'
import { openBrowser, openContext } from '@/tests/support/browser'
import { signIn, type Visitor, withClient } from '@/tests/support/visitor'

const url = inject('appUrl')
const product = { databaseUrl: inject('appDatabaseUrl'), folder: inject('appFolder') }
const COUNTY = 'emptyton'
const office = `${url}/office/${COUNTY}`
let browser: Browser
let clerk: Visitor

beforeAll(async () => {
  browser = await openBrowser()
  await withClient(product.databaseUrl, async (client) => {
    await client.query(
      `INSERT INTO "County" (id, "stateId", name, "timeZone", "equipmentProfile")
       SELECT $1, "stateId", 'Emptyton County', "timeZone", "equipmentProfile" FROM "County" WHERE id = 'larkmoor'`,
      [COUNTY],
    )
    await client.query(
      `WITH made AS (INSERT INTO "Account" (id, email, name) VALUES (gen_random_uuid(), 'clerk@emptyton.example', 'Ellen Clerk') RETURNING id)
       INSERT INTO "Grant" (id, "accountId", access, "countyId") SELECT gen_random_uuid(), id, 'countyStaff', $1 FROM made`,
      [COUNTY],
    )
  })
  clerk = await signIn(product, { email: 'clerk@emptyton.example' })
})
afterAll(() => browser?.close())

const count = async (table: string): Promise<number> =>
  withClient(product.databaseUrl, async (client) => {
    const { rows } = await client.query(`SELECT count(*)::int AS n FROM "${table}" WHERE "countyId" = $1`, [
      COUNTY,
    ])
    return (rows[0] as { n: number }).n
  })

/** Chooses a file and waits until the page shows its dry run. */
async function lookAt(page: Page, kind: string, name: string, text: string): Promise<void> {
  await page.goto(`${office}/imports`)
  await page.locator(`input[name=kind][value=${kind}]`).check()
  await page.setInputFiles('input[name=file]', { name, mimeType: 'text/csv', buffer: Buffer.from(text) })
  await page.getByRole('button', { name: 'Look at it' }).click()
  await page.waitForURL(/imports\/[0-9a-f-]{36}$/)
  await page.getByRole('heading', { name: 'What it would do' }).waitFor()
}

async function write(page: Page): Promise<void> {
  await page.getByRole('button', { name: /^Write / }).click()
  await page.getByText('The file is deleted.', { exact: false }).first().waitFor()
  await page.getByText(/^Written:/).waitFor()
}

const PLACES =
  'Place code,Place name,Address,Latitude,Longitude,Precinct,Registered voters\nP1,Town Hall,1 Main St,42.1,-91.2,101,1200\nP1,Town Hall,1 Main St,42.1,-91.2,102,800\nP2,Fire House,2 Oak St,42.2,-91.1,201,950\n'
const PEOPLE =
  'Worker ID,Name,Date of birth,Phone\n1,"Lee, Ana",6/30/1951,555-010-1111\n2,"Roe, Ben",1/2/1960,555-010-2222\n3,"Lee, Anna",6/30/1951,555-010-1111\n'

describe('a clerk of an empty county', () => {
  it('sees what is wrong with a file, row by row, and nothing is written', async () => {
    const context = await openContext(browser, url, { visitor: clerk, javaScript: false })
    const page = await context.newPage()
    await lookAt(page, 'people', 'people.csv', PEOPLE.replace('1/2/1960', '2/30/1960'))
    const row = page.locator('table tr', { has: page.getByText('2/30/1960') })
    expect(await row.innerText()).toMatch(/3\s+Date of birth\s+2\/30\/1960\s+This should be a year/)
    expect(await page.getByRole('button', { name: /^Write / }).count()).toBe(0)
    expect(await count('PollWorker')).toBe(0)
    await page.getByRole('button', { name: 'Drop the file' }).first().click()
    await page.getByText('Dropped.', { exact: false }).waitFor()
    await context.close()
  })

  it('brings in places and people from two files without JavaScript, and the same files change nothing again', async () => {
    const context = await openContext(browser, url, { visitor: clerk, javaScript: false })
    const page = await context.newPage()
    await lookAt(page, 'places', 'places.csv', PLACES)
    await write(page)
    await lookAt(page, 'people', 'people.csv', PEOPLE)
    expect(await page.locator('nav[aria-label="What to show"]').innerText()).toContain(
      'May be one person (1)',
    )
    await write(page)
    expect([await count('PollingPlace'), await count('Precinct'), await count('PollWorker')]).toEqual([
      2, 3, 3,
    ])
    await lookAt(page, 'people', 'people.csv', PEOPLE)
    await page.getByText('There is nothing to write', { exact: false }).waitFor()
    await context.close()
  })

  it('compares a double, merges it, and takes it back', async () => {
    const context = await openContext(browser, url, { visitor: clerk })
    const page = await context.newPage()
    // The job looks by itself after an import of people.
    await expect
      .poll(
        async () => {
          await page.goto(`${office}/people/duplicates`)
          return page.getByRole('link', { name: /^Compare/ }).count()
        },
        { timeout: 30_000, interval: 1000 },
      )
      .toBe(1)
    await page.getByRole('link', { name: /^Compare/ }).click()
    await page.getByRole('button', { name: /^Merge into/ }).click()
    await page.getByText('Merged. You can undo it below.').waitFor()
    const active = () =>
      withClient(product.databaseUrl, async (client) => {
        const { rows } = await client.query(
          `SELECT count(*)::int AS n FROM "PollWorker" WHERE "countyId" = $1 AND "mergedIntoId" IS NULL`,
          [COUNTY],
        )
        return (rows[0] as { n: number }).n
      })
    expect(await active()).toBe(2)
    await page.getByRole('button', { name: /^Undo/ }).click()
    await page.getByText('Undone.', { exact: false }).waitFor()
    expect(await active()).toBe(3)
    await context.close()
  })
})
