/** A new clerk's first day: from an empty county to a published roster from CSV files, offers sent, one accepted, one
 *  declined and replaced, all of it by clicks. With TEST_FULL=1 a county of 300 places and 3,000 people; the seconds of each step are
 *  printed either way.
 *  The database is only read, to wait for jobs and to check. */
import ICAL from 'ical.js'
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, expect, inject, it } from 'vitest'
import { addDays, type CivilDate, civilDateAt } from '@/lib/kernel/dates'
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

/** The state office makes the county and an account for its clerk; the clerk signs in with the first password. */
async function foundCounty(): Promise<Page> {
  const state = await open({
    size: DESKTOP,
    visitor: await signIn(product, { email: 'state@demo.example' }),
  })
  await state.goto(`${url}/admin`)
  await state.getByRole('link', { name: 'New county' }).first().click()
  await state.locator('[name=name]').fill('Ashgrove County')
  await state.locator('[name=timeZone]').selectOption(ZONE)
  await state.getByRole('button', { name: 'Make the county' }).click()
  await state.waitForURL(/accounts\?said=made/)
  await state.locator('main [name=name]').fill('Nora Field')
  await state.locator('main [name=email]').fill('clerk@ashgrove.example')
  await state.locator('[name=access][value=countyStaff]').check()
  await state.getByRole('button', { name: 'Make the account' }).click()
  await state.getByText('Hand the first password over yourself').waitFor()
  const password = await state.locator('.shown-once').innerText()
  const clerk = await open({ size: DESKTOP })
  await clerk.goto(`${url}/sign-in/staff`)
  await clerk.locator('[name=email]').fill('clerk@ashgrove.example')
  await clerk.locator('[name=password]').fill(password.trim())
  await clerk.locator('main form button[type=submit]').first().click()
  // Whoever has one county only is led straight into it.
  await clerk.waitForURL(`${url}/office/${COUNTY}`)
  await clerk.getByText('0 of 8 steps done').waitFor()
  expect(await axeFindings(clerk)).toEqual([])
  return clerk
}

/** Follows the next step of the county's own list. */
async function nextStep(clerk: Page, name: string): Promise<void> {
  await clerk.goto(`${url}/office/${COUNTY}`)
  const next = clerk.locator('.set-up li', { hasText: '→ next' })
  expect(await next.locator('a').innerText()).toBe(name)
  await next.locator('a').click()
  await clerk.waitForURL((to) => to.pathname !== `/office/${COUNTY}`)
}

/** Positions with their rules, from the templates; training of before counts 24 months. */
async function adoptPositions(clerk: Page): Promise<void> {
  await nextStep(clerk, 'Positions and rules for certificates')
  for (const key of Object.keys(CREW)) await clerk.locator(`[name="template[]"][value=${key}]`).check()
  await clerk.locator('[name=citation]').fill('Ashgrove procedure 2')
  await clerk.locator('[name=checked]').check()
  await clerk.getByRole('button', { name: 'Adopt these positions' }).click()
  await clerk.waitForURL(/said=adopted&made=2/)
  expect(await axeFindings(clerk)).toEqual([])
}

const two = (n: number) => String(n).padStart(4, '0')

/** Places on a grid, people around them; every fifth person has no e-mail, every sixth speaks Spanish. */
function files(today: CivilDate): Record<'places' | 'people' | 'training', string> {
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
    // Everybody was trained for check-in; every third one as a lead too.
    training: [
      'County number,Position,Training date,Trainer',
      ...people.flatMap((_, i) => [
        `A${two(i)},Check-in,${addDays(today, -60)},Ashgrove training office`,
        ...(i % 3 === 0 ? [`A${two(i)},Lead,${addDays(today, -50)},Ashgrove training office`] : []),
      ]),
    ].join('\r\n'),
  }
}

/** Follows the list to a file's page, uploads the file, looks at the dry run, writes it. */
async function bringIn(
  clerk: Page,
  step: string,
  kind: 'places' | 'people' | 'training',
  text: string,
): Promise<void> {
  await nextStep(clerk, step)
  expect(await clerk.locator('[name=kind]:checked').getAttribute('value')).toBe(kind)
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
  await nextStep(clerk, 'Your next election')
  await clerk.locator('[name=name]').fill('General election')
  await clerk.locator('[name=heldOn]').fill(heldOn)
  await clerk.locator('form:has([name=heldOn]) button[data-kind=main]').click()
  await until('the election', async () =>
    Boolean((await rows(`SELECT 1 FROM "Election" WHERE "countyId" = $1`, [COUNTY]))[0]),
  )
  return (await rows<{ id: string }>(`SELECT id FROM "Election" WHERE "countyId" = $1`, [COUNTY]))[0]!.id
}

/** The county's crew rules, published, and the seats that follow from them. */
async function makeSeats(clerk: Page): Promise<void> {
  await nextStep(clerk, 'Crew rules')
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
  await nextStep(clerk, 'Seats')
  await clerk.getByRole('button', { name: 'Change the seats' }).click()
  await clerk.waitForURL(/said=applied/)
}

async function setHours(clerk: Page): Promise<void> {
  await nextStep(clerk, 'Hours of the polls')
  await clerk.locator('[name=opensAt]').fill('06:30')
  await clerk.locator('[name=closesAt]').fill('20:00')
  await clerk.getByRole('button', { name: `Set for ${PLACES} places` }).click()
  await clerk.waitForURL(new RegExp(`said=hours&places=${PLACES}`))
}

const MOST_MS = FULL ? 1_800_000 : 400_000

it(
  'a clerk takes an empty county to a published roster, with answers from the people on it',
  async () => {
    const today = civilDateAt(new Date(), ZONE)
    const heldOn = addDays(today, 40)
    const clerk = await timed('county and account', foundCounty)
    const csv = files(today)
    await timed('positions and rules', () => adoptPositions(clerk))
    await timed('places from CSV', () => bringIn(clerk, 'Places and precincts', 'places', csv.places))
    await timed('hours', () => setHours(clerk))
    await timed('people from CSV', () => bringIn(clerk, 'People', 'people', csv.people))
    await timed('training from CSV', () =>
      bringIn(clerk, 'Training done before you moved here', 'training', csv.training),
    )
    const electionId = await timed('election', () => makeElection(clerk, heldOn))
    await timed('crews', () => makeSeats(clerk))
    await clerk.goto(`${url}/office/${COUNTY}`)
    await clerk.getByRole('link', { name: 'Fill the seats' }).waitFor()
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
    const offers = await rows<{
      id: string
      via: string
      mails: number
      person: string
      w: string
      position: string
    }>(
      `SELECT o.id, e.via::text, w."givenName" AS person, w.id AS w, p.key AS position,
       (SELECT count(*)::int FROM "OutboxMessage" m WHERE m."countyId" = $2 AND m."toAddress" = w.email) AS mails
     FROM "Offer" o JOIN "OfferEvent" e ON e."offerId" = o.id AND e.sequence = 0
     JOIN "PollWorker" w ON w.id = o."pollWorkerId" JOIN "Seat" s ON s.id = o."seatId"
     JOIN "Position" p ON p.id = s."positionId" WHERE o."electionId" = $1 ORDER BY o.id`,
      [electionId, COUNTY],
    )
    expect(offers.length).toBeGreaterThan(PLACES * 3)
    for (const offer of offers) expect(offer.mails).toBe(offer.via === 'mail' ? 1 : 0)
    await clerk.goto(`${base}/offers?show=all`)
    expect(await axeFindings(clerk)).toEqual([])
    const letters = offers.filter((o) => o.via === 'letter')
    await timed('letters as PDF', async () => {
      await clerk.getByRole('button', { name: /^Make the .* to print$/ }).click()
      const href = await clerk
        .getByRole('link', { name: /^Letters \d/ })
        .first()
        .getAttribute('href')
      const answer = await clerk.request.get(new URL(href!, url).href)
      expect(answer.headers()['content-type']).toBe('application/pdf')
      if (canReadPdf) expect(textOf(await answer.body())).toMatch(/Will you work at the polls|Trabajará/)
    })

    // One says yes on a phone, by the link of the letter, without JavaScript and without signing in.
    const yes = letters[0]!
    // Everybody was trained for check-in, so somebody is free for it.
    const no = letters.find((o) => o !== yes && o.position === 'check-in')!
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
