/** A new clerk's first day: from an empty county to a published roster from two CSV files, offers sent, one accepted,
 *  one declined and replaced. With TEST_FULL=1 a county of 300 places and 3,000 people; the seconds of each step are
 *  printed either way.
 *  What the two files can't say stands in `foundCounty` and `train`: the county itself, its positions and rules (the
 *  state office's work), and that people swore their oath (the training room's work). */
import ICAL from 'ical.js'
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, expect, inject, it } from 'vitest'
import { rebuildSpans } from '@/lib/certification/commands'
import { closeDb } from '@/lib/db/client'
import { setEnv } from '@/lib/env'
import { addDays, civilDateAt } from '@/lib/kernel/dates'
import { seededRandom } from '@/lib/kernel/random'
import { instantAt, type WallTime } from '@/lib/kernel/wall-time'
import { offerToken } from '@/lib/offers/link'
import {
  axeFindings,
  DESKTOP,
  openBrowser,
  openContext,
  PHONE,
  sidewaysPixels,
} from '@/tests/support/browser'
import { canReadPdf, textOf } from '@/tests/support/read-pdf'
import { signIn, withClient } from '@/tests/support/visitor'

const FULL = process.env.TEST_FULL === '1'
const PLACES = FULL ? 300 : 30
const PEOPLE = FULL ? 3000 : 150
/** A lead and three at check-in in each place. */
const CREW = { lead: 1, 'check-in': 3 }
const COUNTY = 'ashgrove'
const ZONE = 'America/New_York'
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
  await closeDb()
})

const rows = <T>(sql: string, values: unknown[] = []): Promise<T[]> =>
  withClient(product.databaseUrl, async (client) => (await client.query(sql, values)).rows as T[])

async function open(options: Parameters<typeof openContext>[2]): Promise<Page> {
  const context = await openContext(browser, url, options)
  contexts.push(context)
  const page = await context.newPage()
  page.setDefaultTimeout(60_000)
  return page
}

const seconds: [string, number][] = []
async function timed<T>(step: string, work: () => Promise<T>): Promise<T> {
  const begun = performance.now()
  const answer = await work()
  seconds.push([step, (performance.now() - begun) / 1000])
  return answer
}

/** Asks the database until it says yes. */
async function until(what: string, holds: () => Promise<boolean>, most = 600): Promise<void> {
  for (let i = 0; i < most; i++) {
    if (await holds()) return
    await new Promise((resolve) => setTimeout(resolve, 500))
  }
  throw new Error(`${what}: not within ${most / 2} seconds`)
}

async function foundCounty(): Promise<void> {
  await withClient(product.databaseUrl, async (client) => {
    const [state] = (await client.query(`SELECT id FROM "State" LIMIT 1`)).rows as { id: string }[]
    await client.query(
      `INSERT INTO "County" (id, "stateId", name, "timeZone", "equipmentProfile") VALUES ($1, $2, 'Ashgrove County', $3, 'fern')`,
      [COUNTY, state!.id, ZONE],
    )
    for (const [key, en, es, rank] of [
      ['lead', 'Lead', 'Encargado', 1],
      ['check-in', 'Check-in', 'Registro', 2],
    ]) {
      await client.query(
        `INSERT INTO "Position" (id, "countyId", key, "nameEn", "nameEs", rank, "certificateKey")
         VALUES (gen_random_uuid(), $1, $2, $3, $4, $5, $2)`,
        [COUNTY, key, en, es, rank],
      )
      await client.query(
        `INSERT INTO "RuleSet" (id, "countyId", "certificateKey", version, "effectiveFrom", requirement, citation)
         VALUES (gen_random_uuid(), $1, $2, 1, '2020-01-01', $3, 'For this test')`,
        [
          COUNTY,
          key,
          { kind: 'evidence', fact: 'oathSworn', topic: key, window: { kind: 'months', months: 48 } },
        ],
      )
    }
    const [account] = (
      await client.query(
        `INSERT INTO "Account" (id, email, name) VALUES (gen_random_uuid(), 'clerk@ashgrove.example', 'Nora Field') RETURNING id`,
      )
    ).rows as { id: string }[]
    await client.query(
      `INSERT INTO "Grant" (id, "accountId", access, "countyId") VALUES (gen_random_uuid(), $1, 'countyStaff', $2)`,
      [account!.id, COUNTY],
    )
  })
}

const two = (n: number) => String(n).padStart(4, '0')

/** Places on a grid, people around them; every fifth person has no e-mail, every sixth speaks Spanish. */
function files(): { places: string; people: string } {
  const random = seededRandom(20_281_107)
  const side = Math.ceil(Math.sqrt(PLACES))
  const at = (i: number) => [41 + Math.floor(i / side) * 0.04, -75 + (i % side) * 0.05] as const
  const places = Array.from({ length: PLACES }, (_, i) => {
    const [lat, lon] = at(i)
    return `P${two(i)},Hall ${i + 1},"${i + 1} Grove Street, Ashgrove",${lat.toFixed(5)},${lon.toFixed(5)},${two(i)},${400 + (i % 9) * 150}`
  })
  const people = Array.from({ length: PEOPLE }, (_, i) => {
    const [lat, lon] = at(i % PLACES)
    const near = (x: number) => (x + (random.next() - 0.5) * 0.03).toFixed(5)
    return `A${two(i)},Person${two(i)},Ashgrove${two(i)},${i % 5 === 0 ? '' : `a${two(i)}@ashgrove.example`},555-01${String(i % 100).padStart(2, '0')},"${i + 1} Elm Street, Ashgrove",${near(lat)},${near(lon)},${i % 6 === 0 ? 'es' : 'en'}`
  })
  return {
    places: ['Code,Name,Address,Latitude,Longitude,Precinct,Registered voters', ...places].join('\r\n'),
    people: [
      'County number,First name,Last name,E-mail,Phone,Address,Latitude,Longitude,Languages',
      ...people,
    ].join('\r\n'),
  }
}

/** Uploads a file, looks at the dry run, writes it. */
async function bringIn(clerk: Page, kind: 'places' | 'people', text: string): Promise<void> {
  await clerk.goto(`${url}/office/${COUNTY}/imports`)
  await clerk.locator(`[name=kind][value=${kind}]`).check()
  await clerk
    .locator('[name=file]')
    .setInputFiles({ name: `${kind}.csv`, mimeType: 'text/csv', buffer: Buffer.from(text) })
  await clerk.getByRole('button', { name: 'Look at it' }).click()
  await clerk.waitForURL(/imports\/[0-9a-f-]{36}/)
  const id = /imports\/([0-9a-f-]{36})/.exec(clerk.url())![1]!
  const status = async () =>
    (await rows<{ status: string }>(`SELECT status FROM "Import" WHERE id = $1`, [id]))[0]!.status
  await until(`${kind} checked`, async () => !['uploading', 'queued', 'checking'].includes(await status()))
  expect(await status()).toBe('checked')
  await clerk.goto(clerk.url())
  await clerk.locator('main form button[data-kind=main]').first().click()
  await until(`${kind} written`, async () => (await status()) === 'applied')
}

async function makeElection(clerk: Page, heldOn: string): Promise<string> {
  await clerk.goto(`${url}/office/${COUNTY}/elections`)
  await clerk.locator('[name=name]').fill('General election')
  await clerk.locator('[name=heldOn]').fill(heldOn)
  await clerk.locator('form:has([name=heldOn]) button[data-kind=main]').click()
  await until('the election', async () =>
    Boolean((await rows(`SELECT 1 FROM "Election" WHERE "countyId" = $1`, [COUNTY]))[0]),
  )
  return (await rows<{ id: string }>(`SELECT id FROM "Election" WHERE "countyId" = $1`, [COUNTY]))[0]!.id
}

/** The county's crew rules, published; the seats that follow from them; the hours of the polls (two files have none). */
async function makeSeats(clerk: Page, electionId: string): Promise<void> {
  await clerk.goto(`${url}/office/${COUNTY}/crews/rules`)
  const crew = Object.entries(CREW)
  const positions = await clerk.locator('[name="position[]"]').all()
  for (const [n, position] of positions.entries()) {
    await position.selectOption(crew[n]?.[0] ?? '')
    await clerk
      .locator('[name="count[]"]')
      .nth(n)
      .fill(crew[n] ? String(crew[n][1]) : '')
    for (const name of ['over[]', 'upTo[]']) await clerk.locator(`[name="${name}"]`).nth(n).fill('')
    for (const name of ['phase[]', 'kind[]']) await clerk.locator(`[name="${name}"]`).nth(n).selectOption('')
    await clerk.locator('[name="shifts[]"]').nth(n).selectOption('full')
    await clerk.locator('[name="per[]"]').nth(n).selectOption('place')
  }
  await clerk.locator('[name=citation]').fill('Ashgrove procedure 1')
  await clerk.getByRole('button', { name: /^Publish version/ }).click()
  await clerk.waitForURL(/said=published/)
  await clerk.goto(`${url}/office/${COUNTY}/crews?election=${electionId}`)
  await clerk.getByRole('button', { name: 'Change the seats' }).click()
  await clerk.waitForURL(/said=applied/)
  await rows(
    `INSERT INTO "Opening" (id, "countyId", "pollingPlaceId", "opensAt", "closesAt")
     SELECT gen_random_uuid(), "countyId", id, '06:30', '20:00' FROM "PollingPlace" WHERE "countyId" = $1`,
    [COUNTY],
  )
}

/** Everybody swore the oath of check-in; every third one that of a lead too. */
async function train(today: string): Promise<void> {
  for (const [key, every] of [
    ['check-in', 1],
    ['lead', 3],
  ] as const)
    await rows(
      `INSERT INTO "Fact" (id, "countyId", "pollWorkerId", kind, topic, "happenedOn")
       SELECT gen_random_uuid(), "countyId", id, 'oathSworn', $2, $3 FROM (
         SELECT *, row_number() OVER (ORDER BY "countyRef") AS n FROM "PollWorker" WHERE "countyId" = $1) w
       WHERE w.n % $4 = 0`,
      [COUNTY, key, today, every],
    )
  setEnv({ DATABASE_URL: product.databaseUrl })
  await rebuildSpans(COUNTY, { compareOnly: false })
}

const MOST_MS = FULL ? 1_800_000 : 400_000

it(
  'a clerk takes an empty county to a published roster, with answers from the people on it',
  async () => {
    const today = civilDateAt(new Date(), ZONE)
    const heldOn = addDays(today, 40)
    await foundCounty()
    const clerk = await open({
      size: DESKTOP,
      visitor: await signIn(product, { email: 'clerk@ashgrove.example' }),
    })
    const csv = files()
    await timed('places from CSV', () => bringIn(clerk, 'places', csv.places))
    await timed('people from CSV', () => bringIn(clerk, 'people', csv.people))
    const electionId = await timed('election', () => makeElection(clerk, heldOn))
    await timed('crews', () => makeSeats(clerk, electionId))
    await timed('certificates', () => train(today))
    const base = `${url}/office/${COUNTY}/elections/${electionId}`

    await timed('fill the seats', async () => {
      await clerk.goto(base)
      await clerk.getByRole('button', { name: /Fill the seats/ }).click()
      await until('the run', async () => {
        const [run] = await rows<{ status: string; failure: string | null }>(
          `SELECT status, failure FROM "RosterRun" WHERE "electionId" = $1`,
          [electionId],
        )
        if (run?.status === 'failed') throw new Error(run.failure ?? 'failed')
        return run?.status === 'done'
      })
    })
    await timed('publish', async () => {
      await clerk.goto(base)
      await clerk.getByRole('button', { name: /^Publish version/ }).click()
      await clerk.waitForURL(/said=published/)
    })

    // Everybody is asked: e-mail or letter.
    await timed('send offers', async () => {
      await clerk.goto(`${base}/offers`)
      await clerk.getByText('What offers say').click()
      await clerk.locator('[name=officePhone]').fill('555-0177')
      await clerk.getByRole('button', { name: 'Save' }).click()
      await clerk.getByText('Letters and pages say this').waitFor()
      await clerk.getByRole('button', { name: /^Ask \d/ }).click()
      await until('the sending', async () =>
        Boolean(
          (
            await rows(`SELECT 1 FROM "OfferSending" WHERE "electionId" = $1 AND "finishedAt" IS NOT NULL`, [
              electionId,
            ])
          )[0],
        ),
      )
    })
    const offers = await rows<{ id: string; via: string; mails: number; person: string; w: string }>(
      `SELECT o.id, e.via::text, w."givenName" AS person, w.id AS w,
       (SELECT count(*)::int FROM "OutboxMessage" m WHERE m."countyId" = $2 AND m."toAddress" = w.email) AS mails
     FROM "Offer" o JOIN "OfferEvent" e ON e."offerId" = o.id AND e.sequence = 0
     JOIN "PollWorker" w ON w.id = o."pollWorkerId" WHERE o."electionId" = $1 ORDER BY o.id`,
      [electionId, COUNTY],
    )
    expect(offers.length).toBeGreaterThan(PLACES * 3)
    for (const offer of offers) expect(offer.mails).toBe(offer.via === 'mail' ? 1 : 0)
    await clerk.goto(`${base}/offers?show=all`)
    expect(await axeFindings(clerk)).toEqual([])
    const letters = offers.filter((o) => o.via === 'letter')
    await timed('letters as PDF', async () => {
      const href = await clerk
        .getByRole('link', { name: /letters?.*PDF|Letters 1 to/i })
        .first()
        .getAttribute('href')
      const answer = await clerk.request.get(new URL(href!, url).href)
      expect(answer.headers()['content-type']).toBe('application/pdf')
      if (canReadPdf) expect(textOf(await answer.body())).toMatch(/Will you work at the polls|Trabajará/)
    })

    // One says yes on a phone, by the link of the letter, without JavaScript and without signing in.
    const [yes, no] = [letters[0]!, letters[1]!]
    const phone = await open({ size: PHONE, javaScript: false })
    await timed('a yes by the link', async () => {
      await phone.goto(`${url}/offer/${offerToken(yes.id)}`)
      expect(await phone.getByText(yes.person).count()).toBe(0)
      expect(await sidewaysPixels(phone)).toBe(0)
      await phone.getByRole('button', { name: /Yes, I will work there/ }).click()
      await phone.getByText('Thank you! You are on the list.').waitFor()
    })
    const calendar = await phone.request.get(`${url}/offer/${offerToken(yes.id)}/${yes.id}/work.ics`)
    const event = new ICAL.Event(
      new ICAL.Component(ICAL.parse(await calendar.text())).getFirstSubcomponent('vevent')!,
    )
    // The polls open at 6:30 and close at 20:00; people come an hour before and stay an hour.
    expect(event.startDate.toJSDate()).toEqual(instantAt(heldOn, '05:30' as WallTime, ZONE))
    expect(event.endDate.toJSDate()).toEqual(instantAt(heldOn, '21:00' as WallTime, ZONE))

    // One says no; the clerk asks the best free person instead, with one button.
    await timed('a no by the link', async () => {
      await phone.goto(`${url}/offer/${offerToken(no.id)}`)
      await phone.locator('details:has([name=reason]) > summary').click()
      await phone.locator('[name=reason][value=away]').check()
      await phone.locator('form:has([name=reason]) button[type=submit]').click()
      await phone.getByText('Thank you for telling us').first().waitFor()
    })
    await timed('replaced', async () => {
      await clerk.goto(`${base}/offers?show=declined`)
      await clerk.getByRole('link', { name: new RegExp(no.person) }).click()
      await clerk.getByText('Whom to ask instead').waitFor()
      expect(await axeFindings(clerk)).toEqual([])
      await clerk
        .getByRole('button', { name: /^Offer the seat to/ })
        .first()
        .click()
      await clerk.getByText('is being asked').waitFor()
    })
    const seat = await rows<{ w: string; kind: string }>(
      `SELECT o."pollWorkerId" AS w, (SELECT e.kind::text FROM "OfferEvent" e WHERE e."offerId" = o.id ORDER BY e.sequence DESC LIMIT 1) AS kind
     FROM "Offer" o WHERE o."seatId" = (SELECT "seatId" FROM "Offer" WHERE id = $1)`,
      [no.id],
    )
    expect(seat.map((s) => s.kind).sort()).toEqual(['declined', 'offered'])
    const [published, draft] = await rows<{ n: number; publishedAt: Date | null }>(
      `SELECT (SELECT count(*)::int FROM "Seating" g WHERE g."rosterId" = r.id AND g."pollWorkerId" = $2) AS n, r."publishedAt"
     FROM "Roster" r WHERE r."electionId" = $1 ORDER BY r.version`,
      [electionId, no.w],
    )
    expect(published).toMatchObject({ n: 1 })
    expect(draft).toMatchObject({ n: 0, publishedAt: null })
    await timed('publish again', async () => {
      await clerk.goto(base)
      await clerk.getByRole('button', { name: /^Publish version/ }).click()
      await clerk.waitForURL(/said=published/)
      await clerk.goto(`${base}/offers`)
      await clerk.getByText('Everybody on the published roster has been asked.').waitFor()
    })
    console.info(
      `${PLACES} places, ${PEOPLE} people, ${offers.length} offers:\n${seconds.map(([step, s]) => `  ${step.padEnd(20)} ${s.toFixed(1)} s`).join('\n')}`,
    )
  },
  MOST_MS,
)
