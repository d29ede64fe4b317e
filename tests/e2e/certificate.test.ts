/** A certificate as proof, in a product of its own whose clock can be moved: what was done becomes a certificate; a
 *  stranger's browser, without a sign-in and without JavaScript, sees whether it counts, and why not. */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import path from 'node:path'
import type { Browser, Page } from 'playwright-core'
import { afterAll, beforeAll, expect, it, onTestFailed } from 'vitest'
import { REFUSALS } from '@/lib/certification/core/verdict'
import { axeFindings, DESKTOP, openBrowser, openContext, PHONE } from '@/tests/support/browser'
import { sitQuiz } from '@/tests/support/learner'
import { type Product, startProduct } from '@/tests/support/product'
import { canReadPdf, codeOn, textOf } from '@/tests/support/read-pdf'
import { withClient } from '@/tests/support/visitor'

const PASSWORD = 'larkmoor-demo-2026'
/** Owen, of the demonstration: lesson and quiz done, the check-off is missing. */
const CARD = 'DEM02-3H9TK'
const DAY_MS = 86_400_000

const folder = mkdtempSync(path.join(tmpdir(), 'readiness-certificate-'))
const start = (clockStart = '') => startProduct({ folder, extra: { PORT: '4340', CLOCK_START: clockStart } })
let product: Product
let browser: Browser

beforeAll(async () => {
  browser = await openBrowser()
  product = await start()
})
afterAll(async () => {
  await browser?.close()
  await product?.stop()
  rmSync(folder, { recursive: true, force: true })
})

const rows = <T>(sql: string, values: unknown[] = []): Promise<T[]> =>
  withClient(product.databaseUrl, async (client) => (await client.query(sql, values)).rows as T[])

async function somebody(size = DESKTOP, javaScript = true): Promise<Page> {
  const context = await openContext(browser, product.url, { size, javaScript })
  const page = await context.newPage()
  page.setDefaultTimeout(120_000)
  return page
}

async function signInAsStaff(email: string): Promise<Page> {
  const page = await somebody()
  await page.goto(`${product.url}/sign-in/staff`)
  await page.locator('[name=email]').fill(email)
  await page.locator('[name=password]').fill(PASSWORD)
  await page.locator('main button[type=submit]').click()
  await page.waitForURL((to) => !to.pathname.startsWith('/sign-in'))
  return page
}

async function signInByCard(code: string): Promise<Page> {
  const page = await somebody(PHONE)
  await page.goto(`${product.url}/sign-in`)
  await page.locator('[name=code]').fill(code)
  await page.locator('form:has([name=code]) button[type=submit]').click()
  await page.waitForURL(/\/path/)
  return page
}

async function checkOff(trainer: Page, workerId: string): Promise<void> {
  const before = await rows(`SELECT id FROM "Fact" WHERE "pollWorkerId" = $1 AND kind = 'checkOff'`, [
    workerId,
  ])
  await trainer.goto(`${product.url}/training/larkmoor/${workerId}`)
  await trainer.locator('[name=mark][value="card-handling:done"]').click()
  await expect
    .poll(() => rows(`SELECT id FROM "Fact" WHERE "pollWorkerId" = $1 AND kind = 'checkOff'`, [workerId]), {
      timeout: 30_000,
    })
    .toHaveLength(before.length + 1)
}

/** What a stranger sees behind the QR code. */
async function seenByNumber(stranger: Page, serial: string): Promise<{ good: boolean; words: string }> {
  await stranger.goto(`${product.url}/verify/${serial}`)
  const verdict = stranger.locator('.verdict')
  return {
    good: (await verdict.getAttribute('data-good')) !== null,
    words: await verdict.innerText(),
  }
}

/** What a stranger sees who pastes a certificate's text. */
async function seenByText(stranger: Page, text: string): Promise<{ good: boolean; words: string }> {
  await stranger.goto(`${product.url}/verify`)
  await stranger.locator('[name=credential]').fill(text)
  await stranger.getByRole('button', { name: 'Check this file' }).click()
  const verdict = stranger.locator('.verdict')
  await verdict.waitFor()
  return {
    good: (await verdict.getAttribute('data-good')) !== null,
    words: await verdict.innerText(),
  }
}

interface Held {
  serial: string
  issueId: string
  validUntil: string
}

const heldBy = async (workerId: string): Promise<Held> =>
  (
    await rows<Held>(
      `SELECT c.serial, i.id AS "issueId", i."validUntil" FROM "Certificate" c
       JOIN "CertificateIssue" i ON i."certificateId" = c.id
       WHERE c."pollWorkerId" = $1 AND c."certificateKey" = 'check-in' AND i."withdrawnAt" IS NULL
       ORDER BY i."issuedAt" DESC, i.id LIMIT 1`,
      [workerId],
    )
  )[0]!

it('a check-off completes a certificate; a stranger sees it valid, ended, renewed, revoked', async () => {
  onTestFailed(() => console.log(product.output()))
  const [{ id: workerId }] = (await rows<{ id: string }>(
    `SELECT id FROM "PollWorker" WHERE "givenName" = 'Owen' AND "familyName" = 'Hathersby'`,
  )) as [{ id: string }]

  // (A class booked and attended comes here, before the check-off, once a rule asks for one.)
  const trainer = await signInAsStaff('trainer@larkmoor.example')
  await checkOff(trainer, workerId)
  const held = await heldBy(workerId)

  // The poll worker, on a phone, finds the certificate, its paper and its file.
  const worker = await signInByCard(CARD)
  await worker.goto(`${product.url}/certificates`)
  const mine = await worker.locator('main').innerText()
  expect(mine).toContain(held.serial)
  expect(mine).toContain('Shown to a trainer')
  expect(await axeFindings(worker)).toEqual([])
  const files = `${product.url}/api/certificates/${held.issueId}`
  const paper = await worker.request.get(`${files}/certificate.pdf`)
  expect(paper.headers()['content-type']).toBe('application/pdf')
  const pdf = Buffer.from(await paper.body())
  expect(pdf.toString('latin1')).toContain(held.serial)
  if (canReadPdf) {
    expect(textOf(pdf)).toContain('Owen Hathersby')
    expect(codeOn(pdf)).toBe(`${product.url}/verify/${held.serial}`)
  }
  const credential = await (await worker.request.get(`${files}/credential.jwt`)).text()

  // A stranger without an account and without JavaScript.
  const stranger = await somebody(PHONE, false)
  const green = await seenByNumber(stranger, held.serial)
  expect(green.good).toBe(true)
  for (const words of ['Valid', 'Owen Hathersby', 'Check-in', 'Larkmoor County', held.serial])
    expect(green.words).toContain(words)
  expect((await seenByText(stranger, credential)).good).toBe(true)

  // A changed byte: each part in turn.
  const parts = credential.split('.')
  for (const i of [0, 1, 2]) {
    const part = parts[i]!
    const changed = part.slice(0, 40) + (part[40] === 'A' ? 'B' : 'A') + part.slice(41)
    const seen = await seenByText(stranger, parts.map((p, j) => (j === i ? changed : p)).join('.'))
    expect(seen.good).toBe(false)
    if (i > 0) expect(seen.words).toContain(REFUSALS.signatureInvalid.en)
  }

  // The administrator changes the key: the file stays good. The old key turns out to be stolen: no longer.
  const admin = await signInAsStaff('admin@larkmoor.example')
  await admin.goto(`${product.url}/admin/larkmoor/keys`)
  await admin.getByRole('button', { name: 'Make a new key' }).click()
  await admin.getByText('A new key signs from now on.').waitFor()
  expect((await seenByText(stranger, credential)).good).toBe(true)
  await admin.goto(`${product.url}/admin/larkmoor/keys`)
  const oldKey = admin.locator('section', { hasText: 'no longer signs' })
  await oldKey.locator('summary').click()
  await oldKey.getByRole('button', { name: 'Withdraw this key' }).click()
  await admin.getByText('The key is withdrawn.').waitFor()
  const rotated = await seenByText(stranger, credential)
  expect(rotated.good).toBe(false)
  expect(rotated.words).toContain(REFUSALS.keyWithdrawn.en)
  const anew = await (await worker.request.get(`${files}/credential.jwt`)).text()
  expect((await seenByText(stranger, anew)).good).toBe(true)
  expect((await seenByNumber(stranger, held.serial)).good).toBe(true)

  // Ten days after its end.
  await product.stop()
  product = await start(new Date(Date.parse(held.validUntil) + 10 * DAY_MS).toISOString())
  const later = await somebody(PHONE, false)
  const red = await seenByNumber(later, held.serial)
  expect(red.good).toBe(false)
  expect(red.words).toContain(REFUSALS.expired.en)
  const file = await seenByText(later, anew)
  expect(file.words).toContain(REFUSALS.expired.en)

  // Renewed: the clerk prints a new card, the quiz is passed once more, a trainer sees the task once more.
  const clerk = await signInAsStaff('clerk@larkmoor.example')
  await clerk.goto(`${product.url}/office/larkmoor/people/${workerId}/card`)
  await clerk.locator('main button[type=submit]').click()
  const code = (await clerk.locator('.card-code').innerText()).trim()
  const again = await signInByCard(code)
  expect(await sitQuiz(again, product)).toContain('You passed')
  await checkOff(await signInAsStaff('trainer@larkmoor.example'), workerId)
  const renewed = await seenByNumber(later, held.serial)
  expect(renewed.good, 'the number on the old paper opens the renewed certificate').toBe(true)
  expect((await heldBy(workerId)).serial).toBe(held.serial)

  // Revoked by staff, with a reason that the public page doesn't tell.
  await clerk.goto(`${product.url}/office/larkmoor/people/${workerId}/certificates`)
  const card = clerk.locator('section.panel', { hasText: held.serial })
  await card.locator('summary').first().click()
  await card.locator('[name=reason]').fill('Somebody else sat the quiz')
  await card.getByRole('button', { name: 'Revoke' }).click()
  await clerk.waitForURL(/said=revoked/)
  const revoked = await seenByNumber(later, held.serial)
  expect(revoked.good).toBe(false)
  expect(revoked.words).toContain(REFUSALS.revoked.en)
  expect(revoked.words).not.toContain('sat the quiz')
}, 600_000)
