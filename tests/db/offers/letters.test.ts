import { beforeAll, describe, expect, it } from 'vitest'
import { verifyChain } from '@/lib/audit/verify'
import { db } from '@/lib/db/client'
import { setEnv } from '@/lib/env'
import { makePapers } from '@/lib/jobs/make-papers'
import { recordAnswer } from '@/lib/offers/commands-answer'
import { cancelLetters, requestLetters } from '@/lib/offers/commands-letters'
import { requestSending } from '@/lib/offers/commands-send'
import { LETTERS_A_FILE, type LetterToPrint, letterParts } from '@/lib/offers/letter'
import { offerAddress } from '@/lib/offers/link'
import { getOffersPage } from '@/lib/offers/queries'
import { getLetter, getLetterFile, getLettersProgress, loadLetters } from '@/lib/offers/queries-letters'
import { AnswerInput } from '@/lib/offers/schema'
import { requestPapers } from '@/lib/roster/commands-papers'
import { getPaperFile, getPapersPage } from '@/lib/roster/queries-packet'
import { useDatabase } from '@/tests/support/database'
import { canReadPdf, codeOn, textOf } from '@/tests/support/read-pdf'
import { actorWith, auditEvents, type SmallCounty } from '../roster/support'
import { ANSWER_BY, makePublished, offerOf, sendAll } from './support'

useDatabase()
beforeAll(() => setEnv({ CLOCK_START: '2028-10-01T15:00:00Z', PUBLIC_URL: 'https://polls.example' }))

/** A county whose offers are sent: Ben gets a letter, in Spanish. */
async function sent(): Promise<{ county: SmallCounty; of: { electionId: string; sendingId: string } }> {
  const county = await makePublished()
  return { county, of: { electionId: county.electionId, sendingId: await sendAll(county) } }
}
type Sent = Awaited<ReturnType<typeof sent>>
const make = async ({ county, of }: Sent) => {
  const { orderId } = await requestLetters(county.clerk, of)
  await makePapers(orderId, { withoutThreads: true })
  return orderId
}
const ordersOf = async ({ county, of }: Sent) =>
  (await getOffersPage(county.clerk, county.countyId, of.electionId, { show: 'all' })).sendings[0]!.orders
const fileOf = ({ county, of }: Sent, orderId: string, actor = county.clerk) =>
  getLetterFile(actor, county.countyId, of.electionId, orderId, 1)

describe('the letters of a sending', () => {
  it('are made by a job, kept as files, take the place of earlier ones, and are audited', async () => {
    const it = await sent()
    const first = await make(it)
    const { done } = await ordersOf(it)
    expect(done).toMatchObject({ status: 'done', outdated: false })
    expect(done!.files).toMatchObject([{ number: 1, title: 'Letters 1: Test', pages: 1 }])
    const pdf = Buffer.from((await fileOf(it, first)).content)
    if (canReadPdf) {
      expect(textOf(pdf)).toMatch(/Ben Test[\s\S]*3 Elm Street[\s\S]*martes, 7 de noviembre de 2028/)
      expect(textOf(pdf)).not.toContain('Ana Test')
      const ben = await offerOf(it.county.seats.northCheckIn, it.county.people.ben)
      expect(codeOn(pdf)).toBe(offerAddress(ben.id))
    }
    const second = await make(it)
    await expect(fileOf(it, first)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    expect((await fileOf(it, second)).name).toBe('letters-1-1.pdf')
    expect((await auditEvents(it.county.countyId)).slice(-4)).toEqual([
      'papers.asked',
      'papers.made',
      'papers.asked',
      'papers.made',
    ])
    expect((await verifyChain(db(), it.county.countyId)).status).toBe('whole')
  })

  it('leave the packet of the election alone, and are left alone by it', async () => {
    const it = await sent()
    const { county, of } = it
    const letters = await make(it)
    const packet = await requestPapers(county.clerk, { electionId: of.electionId })
    // Both may wait at once.
    const again = await requestLetters(county.clerk, of)
    await expect(requestLetters(county.clerk, of)).rejects.toThrow(/letters are being made already/)
    await makePapers(packet.orderId, { withoutThreads: true })
    expect(await fileOf(it, letters)).toBeDefined()
    await makePapers(again.orderId, { withoutThreads: true })
    const page = await getPapersPage(county.clerk, county.countyId, of.electionId, '')
    expect(page.newest?.id).toBe(packet.orderId)
    expect(page.done?.files).toHaveLength(3)
    // An address of one kind doesn't open the other.
    for (const [read, orderId] of [
      [getPaperFile, again.orderId],
      [getLetterFile, packet.orderId],
    ] as const)
      await expect(read(county.clerk, county.countyId, of.electionId, orderId, 1)).rejects.toMatchObject({
        code: 'NOT_FOUND',
      })
  })

  it('are stopped without files, and the earlier ones stay', async () => {
    const it = await sent()
    const { county, of } = it
    const first = await make(it)
    const second = await requestLetters(county.clerk, of)
    await cancelLetters(county.clerk, of)
    await makePapers(second.orderId)
    const orders = await ordersOf(it)
    expect(orders.newest?.status).toBe('cancelled')
    expect(orders.done?.id).toBe(first)
    expect(await fileOf(it, first)).toBeDefined()
    await expect(cancelLetters(county.clerk, of)).rejects.toMatchObject({ code: 'CONFLICT' })
  })

  it('say that they are out of date once somebody declines, who is left out when they are made again', async () => {
    const it = await sent()
    const { county } = it
    await make(it)
    // The clock of the tests stands: an answer of the same instant would be in doubt.
    await db().$executeRaw`UPDATE "PaperOrder" SET "createdAt" = "createdAt" - interval '1 second'`
    const ben = await offerOf(county.seats.northCheckIn, county.people.ben)
    await recordAnswer(county.clerk, {
      ...AnswerInput.parse({ offerId: ben.id, answer: 'declined', reason: 'away' }),
      via: 'paper',
    })
    expect((await ordersOf(it)).done?.outdated).toBe(true)
    await make(it)
    expect((await ordersOf(it)).done).toMatchObject({ files: [] })
  })

  it('leave out an address that is confidential, or not known, in a file of its own', async () => {
    const it = await sent()
    const { county } = it
    await db().pollWorker.update({ where: { id: county.people.ben }, data: { confidentialAddress: true } })
    const orderId = await make(it)
    expect((await ordersOf(it)).done?.files).toMatchObject([
      { title: expect.stringContaining('without an address (protected, or not known)') },
    ])
    const pdf = Buffer.from((await fileOf(it, orderId)).content)
    if (canReadPdf) {
      expect(textOf(pdf)).toContain('Ben Test')
      expect(textOf(pdf)).not.toContain('Elm Street')
    }
    const ben = await offerOf(county.seats.northCheckIn, county.people.ben)
    const alone = (actor: typeof county.clerk) =>
      getLetter(actor, county.countyId, county.electionId, ben.id).then((letter) => letter.address)
    expect(await alone(county.clerk)).toBe(null)
    const { grants } = actorWith('administrator', county.countyId)
    expect(await alone({ ...county.clerk, grants: [...grants, ...county.clerk.grants] })).toBe(
      '3 Elm Street, Town',
    )
  })

  it('are for those who send the offers of this county, and wait until the sending is over', async () => {
    const it = await sent()
    const orderId = await make(it)
    const { county, of } = it
    for (const [actor, code] of [
      [actorWith('trainer', county.countyId), 'FORBIDDEN'],
      [actorWith('countyStaff', 'elsewhere'), 'NOT_FOUND'],
    ] as const) {
      await expect(requestLetters(actor, of)).rejects.toMatchObject({ code })
      await expect(cancelLetters(actor, of)).rejects.toMatchObject({ code })
      await expect(fileOf(it, orderId, actor)).rejects.toMatchObject({ code })
      await expect(
        getLettersProgress(actor, county.countyId, of.electionId, of.sendingId),
      ).rejects.toMatchObject({ code })
    }
    const fresh = await makePublished()
    const { electionId } = fresh
    const { sendingId } = await requestSending(fresh.clerk, { electionId, answerBy: ANSWER_BY })
    await expect(requestLetters(fresh.clerk, { electionId, sendingId })).rejects.toThrow(/still under way/)
    await expect(requestLetters(fresh.clerk, { ...of, sendingId })).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
  })

  it('come in files of a stated number, in their order', async () => {
    const { of } = await sent()
    const [one] = await loadLetters(of)
    const many = Array.from(
      { length: 2 * LETTERS_A_FILE + 1 },
      (_, i): LetterToPrint => ({
        ...one!,
        name: `Person ${i}`,
        familyName: `N${i}`,
        address: i === 3 ? null : 'A street',
      }),
    )
    const parts = letterParts(many)
    expect(parts.map((part) => part.letters.length)).toEqual([LETTERS_A_FILE, LETTERS_A_FILE, 1])
    expect(parts[2]!.letters[0]!.familyName).toBe('N3')
    expect(parts[0]!.title).toBe(`Letters 1 to ${LETTERS_A_FILE}: N0 to N${LETTERS_A_FILE}`)
    expect(new Set(parts.flatMap((part) => part.letters.map((l) => l.name))).size).toBe(many.length)
  })
})
