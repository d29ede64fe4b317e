/** A clerk at the board: moves a person by keyboard and by drag, sees what it costs first, and what another clerk did. */
import type { Browser, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest'
import { axeFindings, openBrowser, openContext, PHONE, sidewaysPixels } from '@/tests/support/browser'
import { signIn, withClient } from '@/tests/support/visitor'

const url = inject('appUrl')
const product = { databaseUrl: inject('appDatabaseUrl'), folder: inject('appFolder') }
const TIMEOUT = 120_000
let browser: Browser
let board: string

const asClerk = async (
  email: string,
  options: { javaScript?: boolean; size?: typeof PHONE } = {},
): Promise<Page> => {
  const visitor = await signIn(product, { email })
  return (await openContext(browser, url, { visitor, ...options })).newPage()
}
const rows = <T>(text: string, values: unknown[] = []) =>
  withClient(product.databaseUrl, async (client) => (await client.query(text, values)).rows as T[])
const sitting = async (workerId: string) =>
  (
    await rows<{ seatId: string }>(
      `SELECT g."seatId" FROM "Seating" g JOIN "Roster" r ON r.id = g."rosterId" WHERE r."electionId" = $1
       AND g."pollWorkerId" = $2 ORDER BY r.version DESC LIMIT 1`,
      [election, workerId],
    )
  )[0]?.seatId
let election: string
/** A person, their seat, and an empty one of the same kind: both on the first page of the board. */
let mover: { workerId: string; from: string; to: string; name: string }

beforeAll(async () => {
  browser = await openBrowser()
  // An election of its own in the smaller county, so that the other tests keep theirs.
  const [made] = await rows<{ id: string }>(
    `INSERT INTO "Election" (id, "countyId", name, kind, "heldOn")
     VALUES (gen_random_uuid(), 'fennick', 'Board trial ' || gen_random_uuid(), 'special', '2028-11-14') RETURNING id`,
  )
  election = made!.id
  board = `${url}/office/fennick/elections/${election}`
  const seats = await rows<{ id: string }>(
    `INSERT INTO "Seat" (id, "countyId", "electionId", "pollingPlaceId", "positionId", "servesOn", number)
     SELECT gen_random_uuid(), 'fennick', $1, l.id, p.id, '2028-11-14', 1
     FROM (SELECT id FROM "PollingPlace" WHERE "countyId" = 'fennick' ORDER BY code LIMIT 2) l,
       "Position" p WHERE p."countyId" = 'fennick' AND p.key = 'check-in' RETURNING id`,
    [election],
  )
  const [person] = await rows<{ id: string; name: string }>(
    `SELECT w.id, w."givenName" || ' ' || w."familyName" AS name FROM "PollWorker" w
     JOIN "CertificateSpan" c ON c."pollWorkerId" = w.id AND c."certificateKey" = 'check-in'
     WHERE w."countyId" = 'fennick' AND w.active AND w."offersShift" = 'full' AND w."maxTravelKm" IS NULL
       AND NOT w."confidentialAddress" AND NOT '2028-11-14' = ANY(w."unavailableOn")
       AND c."validFrom" <= '2028-11-14' AND (c."validUntil" IS NULL OR c."validUntil" > '2028-11-14') LIMIT 1`,
  )
  const [roster] = await rows<{ id: string }>(
    `INSERT INTO "Roster" (id, "countyId", "electionId", version) VALUES (gen_random_uuid(), 'fennick', $1, 1) RETURNING id`,
    [election],
  )
  await rows(
    `INSERT INTO "Seating" (id, "countyId", "rosterId", "seatId", "pollWorkerId", "morningOn", "afternoonOn")
     VALUES (gen_random_uuid(), 'fennick', $1, $2, $3, '2028-11-14', '2028-11-14')`,
    [roster!.id, seats[0]!.id, person!.id],
  )
  mover = { workerId: person!.id, name: person!.name, from: seats[0]!.id, to: seats[1]!.id }
}, TIMEOUT)
afterAll(() => browser.close())

describe('the roster board', () => {
  it(
    'moves a person without JavaScript, after saying what it costs',
    async () => {
      const page = await asClerk('clerk@fennick.example', { javaScript: false })
      await page.goto(board)
      await page.getByRole('link', { name: `Move ${mover.name}` }).click()
      const there = page.locator(`[data-seat="${mover.to}"]`)
      expect(await there.innerText()).toMatch(/(Costs|Saves) [\d.]+ miles? .*travel|travel stays the same/)
      expect(await there.innerText()).toMatch(/Leaves Check-in at .* empty/)
      await there.getByRole('button', { name: /Move here/ }).click()
      await page.getByText('Done. The person sits in the new seat').waitFor()
      expect(await sitting(mover.workerId)).toBe(mover.to)
      await page.context().close()
    },
    TIMEOUT,
  )

  it(
    'opens the same question for a drag, and shows a second clerk what the first one did',
    async () => {
      const other = await asClerk('state@demo.example')
      await other.goto(board)
      const page = await asClerk('clerk@fennick.example')
      await page.goto(board)
      await page.locator(`[data-seat="${mover.to}"]`).dragTo(page.locator(`[data-seat="${mover.from}"]`))
      const panel = page.locator('#move')
      await panel.getByText(/Moving .* from Check-in/).waitFor()
      await panel.getByRole('button', { name: 'Move here' }).click()
      await page.getByText('Done. The person sits in the new seat').waitFor()
      expect(await sitting(mover.workerId)).toBe(mover.from)
      await other
        .locator('.live-line')
        .getByText(new RegExp(`moved ${mover.name} from .* a moment ago`))
        .waitFor()
      await page.context().close()
      await other.context().close()
    },
    TIMEOUT,
  )

  it(
    'goes over the map by arrow keys, and choosing a place filters the table',
    async () => {
      const page = await asClerk('clerk@fennick.example')
      await page.goto(board)
      const marks = page.locator('svg.map a[data-place]')
      expect(await marks.count()).toBe(2)
      const first = page.locator('svg.map a[tabindex="0"]')
      await first.focus()
      const before = await page.evaluate(() => document.activeElement?.getAttribute('data-place'))
      for (const key of ['ArrowRight', 'ArrowLeft', 'ArrowUp', 'ArrowDown']) {
        await page.keyboard.press(key)
        if ((await page.evaluate(() => document.activeElement?.getAttribute('data-place'))) !== before) break
      }
      const after = await page.evaluate(() => document.activeElement?.getAttribute('data-place'))
      expect(after).not.toBe(before)
      await page.keyboard.press('Enter')
      await page.waitForURL(/place=/)
      expect(await page.locator('table.places tbody tr').count()).toBe(1)
      expect(await page.locator(`tr[data-place="${after}"]`).count()).toBe(1)
      await page.context().close()
    },
    TIMEOUT,
  )

  it(
    'holds at 320 pixels and before axe while somebody is being moved',
    async () => {
      const page = await asClerk('clerk@fennick.example', { size: PHONE })
      await page.goto(`${board}?move=${mover.from}#move`)
      await page.locator('.move-here').first().waitFor()
      expect(await sidewaysPixels(page)).toBe(0)
      expect(await axeFindings(page)).toEqual([])
      await page.context().close()
    },
    TIMEOUT,
  )
})
