import { randomUUID } from 'node:crypto'
import { beforeAll, describe, expect, it } from 'vitest'
import { verifyChain } from '@/lib/audit/verify'
import { db } from '@/lib/db/client'
import { setEnv } from '@/lib/env'
import { civilDate } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { seededRandom } from '@/lib/kernel/random'
import {
  extendAll,
  extendOffer,
  logCall,
  markLetterReturned,
  offerReplacement,
  withdrawOffer,
} from '@/lib/offers/commands'
import { answerByLink, answerOffer, recordAnswer } from '@/lib/offers/commands-answer'
import { remindOfOffers, requestSending, sendOffers, stopSending } from '@/lib/offers/commands-send'
import { mayHappen, type OfferEventKind, offerStatus } from '@/lib/offers/core/status'
import { listStandings } from '@/lib/offers/facts-rosters'
import { offerToken, readOfferToken } from '@/lib/offers/link'
import { getOffersPage } from '@/lib/offers/queries'
import { loadLetters } from '@/lib/offers/queries-letters'
import { getMyOffers, getOffersByLink } from '@/lib/offers/queries-mine'
import { getOfferPage } from '@/lib/offers/queries-offer'
import { AnswerInput } from '@/lib/offers/schema'
import { publishRoster } from '@/lib/roster/commands'
import { loadRosterGround } from '@/lib/roster/facts'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents, HELD_ON, markOf, type SmallCounty, seated } from '../roster/support'
import { ANSWER_BY, asWorker, makePublished, offerOf, sendAll } from './support'

useDatabase()
beforeAll(() => setEnv({ CLOCK_START: '2028-10-01T15:00:00Z', PUBLIC_URL: 'https://polls.example' }))

const answer = (offerId: string, kind: 'accepted' | 'declined' | 'askedElsewhere', more: object = {}) =>
  AnswerInput.parse({ offerId, answer: kind, ...more })
const codeOf = (work: Promise<unknown>): Promise<string> =>
  work.then(
    () => 'done',
    (error: unknown) => (error instanceof AppError ? error.code : `bug: ${String(error)}`),
  )
const mailsOf = (countyId: string) =>
  db().outboxMessage.findMany({ where: { countyId }, orderBy: { id: 'asc' } })

describe('sending', () => {
  it('writes an e-mail where there is one, keeps a letter for the others, each in the person’s language', async () => {
    const county = await makePublished()
    const sendingId = await sendAll(county)
    const [mail, ...more] = await mailsOf(county.countyId)
    expect(more).toEqual([])
    expect(mail).toMatchObject({ kind: 'offer-made', locale: 'en' })
    expect(mail!.body).toContain('Tuesday, November 7, 2028')
    expect(mail!.body).toContain('Hall N, N Street')
    expect(mail!.body).toContain('October 20, 2028')
    expect(mail!.body).toMatch(/https:\/\/polls\.example\/offer\/[A-Za-z0-9_-]{43}\n/)
    const letters = await loadLetters({ sendingId })
    expect(letters).toHaveLength(1)
    expect(letters[0]).toMatchObject({ locale: 'es', name: 'Ben Test', address: '3 Elm Street, Town' })
    expect(letters[0]!.seats[0]).toContain('martes, 7 de noviembre de 2028')
    expect(await auditEvents(county.countyId)).toEqual(
      expect.arrayContaining(['offers.asked', 'offers.made']),
    )
  })

  it('writes to nobody twice, however often it is asked', async () => {
    const county = await makePublished()
    const first = await sendAll(county)
    await sendOffers(first)
    expect(
      await codeOf(requestSending(county.clerk, { electionId: county.electionId, answerBy: ANSWER_BY })),
    ).toBe('CONFLICT')
    expect(await mailsOf(county.countyId)).toHaveLength(1)
    expect(await db().offerEvent.count({ where: { countyId: county.countyId } })).toBe(2)
  })

  it('makes one offer a seat and person when two job runners send at once', async () => {
    const county = await makePublished()
    const { sendingId } = await requestSending(county.clerk, {
      electionId: county.electionId,
      answerBy: ANSWER_BY,
    })
    await Promise.all([sendOffers(sendingId), sendOffers(sendingId), sendOffers(sendingId)])
    expect(await db().offerEvent.count({ where: { countyId: county.countyId } })).toBe(2)
    expect(await mailsOf(county.countyId)).toHaveLength(1)
  })

  it('is refused without a published roster, with a past deadline, and to others', async () => {
    const county = await makePublished()
    const ask = (who: Parameters<typeof requestSending>[0], answerBy = ANSWER_BY) =>
      codeOf(requestSending(who, { electionId: county.electionId, answerBy }))
    expect(await ask(county.clerk, civilDate('2028-09-30'))).toBe('INVALID_INPUT')
    expect(await ask(county.clerk, civilDate(HELD_ON))).toBe('INVALID_INPUT')
    expect(await ask(actorWith('trainer', county.countyId))).toBe('FORBIDDEN')
    expect(await ask(actorWith('countyStaff', 'elsewhere'))).toBe('NOT_FOUND')
    await db().$executeRaw`UPDATE "Roster" SET "publishedAt" = NULL WHERE "countyId" = ${county.countyId}`
    expect(await ask(county.clerk)).toBe('CONFLICT')
  })

  it('stops when it is asked to, and goes on from there', async () => {
    const county = await makePublished()
    const { sendingId } = await requestSending(county.clerk, {
      electionId: county.electionId,
      answerBy: ANSWER_BY,
    })
    await stopSending(county.clerk, { electionId: county.electionId })
    await sendOffers(sendingId)
    expect(await db().offer.count({ where: { countyId: county.countyId } })).toBe(0)
    await sendAll(county)
    expect(await db().offer.count({ where: { countyId: county.countyId } })).toBe(2)
  })

  it('reminds once, only whom an e-mail reaches and who hasn’t answered, near the deadline', async () => {
    const county = await makePublished()
    await sendAll(county)
    const at = (day: string) => new Date(`${day}T15:00:00Z`)
    await remindOfOffers(at('2028-10-17'))
    expect(await mailsOf(county.countyId)).toHaveLength(1)
    await remindOfOffers(at('2028-10-18'))
    await remindOfOffers(at('2028-10-19'))
    const mails = await mailsOf(county.countyId)
    expect(mails.map((m) => m.kind)).toEqual(['offer-made', 'offer-reminder'])
  })
})

describe('answers', () => {
  let county: SmallCounty
  const lead = async () => (await offerOf(county.seats.northLead, county.people.ana)).id
  beforeAll(async () => {
    county = await makePublished()
    await sendAll(county)
  })

  it('are the person’s own: nobody else’s offer is there', async () => {
    const offerId = await lead()
    const other = asWorker(county.countyId, county.people.ben)
    expect(await codeOf(answerOffer(other, answer(offerId, 'accepted')))).toBe('NOT_FOUND')
    expect(await codeOf(answerOffer(county.clerk, answer(offerId, 'accepted')))).toBe('NOT_FOUND')
    expect((await getMyOffers(other, 'en')).offers).toHaveLength(1)
  })

  it('by the link open that person’s offers alone and name nobody', async () => {
    const mine = await offerOf(county.seats.northCheckIn, county.people.ben)
    const token = offerToken(mine.id)
    const page = await getOffersByLink(token, 'es')
    expect(page.offers.map((o) => o.id)).toEqual([mine.id])
    const shown = JSON.stringify(page)
    expect(shown).not.toMatch(/Ben|Test|Elm Street/)
    expect(shown).not.toContain(county.people.ben)
    expect(await codeOf(answerByLink(token, answer(await lead(), 'declined')))).toBe('NOT_FOUND')
    await answerByLink(token, answer(mine.id, 'accepted'))
    const { events } = await offerOf(county.seats.northCheckIn, county.people.ben)
    expect(events.at(-1)).toMatchObject({ kind: 'accepted', via: 'link', accountId: null })
  })

  it('a link that was changed by a letter opens nothing', async () => {
    const token = offerToken(await lead())
    expect(readOfferToken(token)).toBe(await lead())
    const random = seededRandom(7)
    for (let i = 0; i < 200; i++) {
      const at = Math.floor(random.next() * 42)
      const other = token[at] === 'x' ? 'y' : 'x'
      expect(readOfferToken(token.slice(0, at) + other + token.slice(at + 1))).toBeNull()
    }
    expect(readOfferToken('')).toBeNull()
    expect(await codeOf(getOffersByLink(`${token}x`, 'en'))).toBe('NOT_FOUND')
  })

  it('twice the same count once', async () => {
    const me = asWorker(county.countyId, county.people.ana)
    const offerId = await lead()
    await Promise.all([1, 2, 3].map(() => answerOffer(me, answer(offerId, 'accepted'))))
    const { events } = await offerOf(county.seats.northLead, county.people.ana)
    expect(events.map((e) => e.kind)).toEqual(['offered', 'accepted'])
  })

  it('told to the office are written down by staff alone, with the way they came', async () => {
    const offerId = await lead()
    const input = { ...answer(offerId, 'askedElsewhere', { note: 'near the mill' }), via: 'phone' as const }
    expect(await codeOf(recordAnswer(actorWith('trainer', county.countyId), input))).toBe('FORBIDDEN')
    expect(await codeOf(recordAnswer(actorWith('countyStaff', 'elsewhere'), input))).toBe('NOT_FOUND')
    await recordAnswer(county.clerk, input)
    const { events } = await offerOf(county.seats.northLead, county.people.ana)
    expect(events.at(-1)).toMatchObject({ kind: 'askedElsewhere', via: 'phone', note: 'near the mill' })
    expect(await seated(county.electionId)).toMatchObject({ [county.seats.northLead]: county.people.ana })
  })
})

describe('a no', () => {
  it('empties the seat in the next draft; the published version stays', async () => {
    const county = await makePublished()
    await sendAll(county)
    const { id } = await offerOf(county.seats.northCheckIn, county.people.ben)
    await answerByLink(offerToken(id), answer(id, 'declined', { reason: 'away' }))
    expect(await seated(county.electionId)).toEqual({ [county.seats.northLead]: county.people.ana })
    const rosters = await db().roster.findMany({
      where: { electionId: county.electionId },
      include: { seatings: true },
      orderBy: { version: 'asc' },
    })
    expect(rosters.map((r) => [r.publishedAt !== null, r.seatings.length])).toEqual([
      [true, 2],
      [false, 1],
    ])
    expect(await auditEvents(county.countyId)).toEqual(
      expect.arrayContaining(['roster.seat-changed', 'offer.answered']),
    )
    expect((await verifyChain(db(), county.countyId)).status).toBe('whole')
  })

  it('keeps the optimiser from seating the person on that day again, until it is taken back', async () => {
    const county = await makePublished()
    await sendAll(county)
    const { id } = await offerOf(county.seats.northCheckIn, county.people.ben)
    await recordAnswer(county.clerk, { ...answer(id, 'declined', { reason: 'away' }), via: 'paper' })
    const barred = async () =>
      (await loadRosterGround(county.electionId)).instance.people.find((p) => p.id === county.people.ben)!
    expect(await barred()).toMatchObject({ excluded: true })
    await withdrawOffer(county.clerk, { offerId: id, note: '' })
    expect(await barred()).toMatchObject({ excluded: false })
  })

  it('about the place bars that place alone', async () => {
    const county = await makePublished()
    await sendAll(county)
    const { id } = await offerOf(county.seats.northCheckIn, county.people.ben)
    await recordAnswer(county.clerk, { ...answer(id, 'declined', { reason: 'far' }), via: 'phone' })
    const ground = await loadRosterGround(county.electionId)
    expect(ground.instance.people.find((p) => p.id === county.people.ben)).toMatchObject({
      excluded: false,
      excludedPlaces: [county.places.north],
    })
  })

  it('shows who could come instead, the nearest first, and one button seats and asks them', async () => {
    const county = await makePublished()
    // Two more who may sit at the check-in: Eve, who is back, lives further away than Fay.
    await db().pollWorker.update({ where: { id: county.people.eve }, data: { unavailableOn: [] } })
    const fay = randomUUID()
    await db().pollWorker.create({
      data: {
        id: fay,
        countyId: county.countyId,
        countyRef: 'Fay',
        givenName: 'Fay',
        familyName: 'Test',
        homeLat: 42.09,
        homeLon: -91,
        email: `${county.countyId}@fay.example`,
        languages: ['en'],
        unavailableOn: [],
      },
    })
    await db().certificateSpan.create({
      data: {
        countyId: county.countyId,
        pollWorkerId: fay,
        certificateKey: 'check-in',
        validFrom: '2028-01-01',
        validUntil: null,
      },
    })
    await sendAll(county)
    const { id } = await offerOf(county.seats.northCheckIn, county.people.ben)
    await answerByLink(offerToken(id), answer(id, 'declined'))
    const page = await getOfferPage(county.clerk, county.countyId, county.electionId, id)
    // Cleo offers the morning only, Dan has no certificate, Ben said no, Ana sits as lead.
    expect(page.replacements?.free.map((p) => p.name)).toEqual(['Fay Test', 'Eve Test'])
    const made = await offerReplacement(county.clerk, { offerId: id, workerId: fay, answerBy: ANSWER_BY })
    expect(await seated(county.electionId)).toMatchObject({ [county.seats.northCheckIn]: fay })
    const mails = await mailsOf(county.countyId)
    expect(mails.at(-1)).toMatchObject({ kind: 'offer-made', toAddress: `${county.countyId}@fay.example` })
    expect(
      await codeOf(
        offerReplacement(county.clerk, { offerId: id, workerId: county.people.eve, answerBy: ANSWER_BY }),
      ),
    ).toBe('CONFLICT')
    // Published and sent again, nobody is asked twice.
    await publishRoster(county.clerk, {
      electionId: county.electionId,
      expected: await markOf(county.electionId),
    })
    const after = await getOffersPage(county.clerk, county.countyId, county.electionId, { show: 'all' })
    expect(after.toSend).toEqual({ people: 0, letters: 0, stray: 0 })
    expect(after.lines.find((l) => l.id === made.offerId)).toMatchObject({
      state: 'open',
      person: 'Fay Test',
    })
    const at = async (place: string) =>
      (
        await getOffersPage(county.clerk, county.countyId, county.electionId, { show: 'all', at: place })
      ).lines.map((l) => l.place)
    expect(new Set([...(await at('hall n')), ...(await at('N'))])).toEqual(new Set(['Hall N']))
    expect(await at('nowhere')).toEqual([])
  })

  it('goes on to the same party where the crew rules bind parties', async () => {
    const county = await makePublished()
    await db().pollWorker.update({
      where: { id: county.people.eve },
      data: { unavailableOn: [], party: 'Green' },
    })
    await db().pollWorker.update({ where: { id: county.people.ben }, data: { party: 'Blue' } })
    await sendAll(county)
    const { id } = await offerOf(county.seats.northCheckIn, county.people.ben)
    await answerByLink(offerToken(id), answer(id, 'declined'))
    const found = async () =>
      (await getOfferPage(county.clerk, county.countyId, county.electionId, id)).replacements!
    expect((await found()).free.map((p) => p.name)).toEqual(['Eve Test'])
    await db().crewRules.create({
      data: {
        countyId: county.countyId,
        version: 1,
        citation: 'c',
        ruleTable: { sameParty: 'atMostHalf' },
        demand: {},
        publishedAt: new Date(),
      },
    })
    expect(await found()).toMatchObject({ free: [], sameParty: true })
    const replace = () =>
      codeOf(
        offerReplacement(county.clerk, { offerId: id, workerId: county.people.eve, answerBy: ANSWER_BY }),
      )
    expect(await replace()).toBe('INVALID_INPUT')
    expect(await seated(county.electionId)).not.toHaveProperty(county.seats.northCheckIn)
    await db().pollWorker.update({ where: { id: county.people.eve }, data: { party: 'Blue' } })
    expect((await found()).free.map((p) => p.name)).toEqual(['Eve Test'])
    expect(await replace()).toBe('done')
  })
})

describe('the office', () => {
  it('logs calls, returned letters and more time, each by staff of the county alone', async () => {
    const county = await makePublished()
    await sendAll(county)
    const { id } = await offerOf(county.seats.northCheckIn, county.people.ben)
    const later = civilDate('2028-10-28')
    for (const work of [
      (who: typeof county.clerk) => logCall(who, { offerId: id, outcome: 'noAnswer', note: '' }),
      (who: typeof county.clerk) => markLetterReturned(who, { offerId: id }),
      (who: typeof county.clerk) => extendOffer(who, { offerId: id, answerBy: later }),
    ]) {
      expect(await codeOf(work(actorWith('pollWorker', county.countyId)))).toBe('FORBIDDEN')
      expect(await codeOf(work(actorWith('countyStaff', 'elsewhere')))).toBe('NOT_FOUND')
      expect(await codeOf(work(county.clerk))).toBe('done')
    }
    const page = await getOfferPage(county.clerk, county.countyId, county.electionId, id)
    expect(page.standing).toMatchObject({ calls: 1, letterReturned: true, answerBy: later, state: 'open' })
    expect(await extendAll(county.clerk, { electionId: county.electionId, answerBy: later })).toBe(1)
    expect(await auditEvents(county.countyId)).toEqual(
      expect.arrayContaining(['offer.called', 'offer.letter-returned', 'offer.extended', 'offers.extended']),
    )
  })

  it('takes an offer back, empties the seat and tells the person', async () => {
    const county = await makePublished()
    await sendAll(county)
    const { id } = await offerOf(county.seats.northLead, county.people.ana)
    await withdrawOffer(county.clerk, { offerId: id, note: 'moved' })
    expect(await seated(county.electionId)).toEqual({ [county.seats.northCheckIn]: county.people.ben })
    const mails = await mailsOf(county.countyId)
    expect(mails.at(-1)).toMatchObject({ kind: 'offer-withdrawn' })
    expect(
      await codeOf(answerOffer(asWorker(county.countyId, county.people.ana), answer(id, 'accepted'))),
    ).toBe('CONFLICT')
  })

  it('can’t change what happened: events only grow', async () => {
    const county = await makePublished()
    await sendAll(county)
    await expect(
      db().$executeRaw`UPDATE "OfferEvent" SET note = 'x' WHERE "countyId" = ${county.countyId}`,
    ).rejects.toThrow(/only grows/)
  })
})

describe('the reading of many offers at once', () => {
  it('agrees with the core on any history that the guard allows', async () => {
    const county = await makePublished()
    const random = seededRandom(2028)
    const kinds: OfferEventKind[] = [
      'offered',
      'extended',
      'accepted',
      'declined',
      'askedElsewhere',
      'withdrawn',
      'called',
      'returned',
    ]
    const today = civilDate('2028-10-10')
    const dates = ['2028-10-05', '2028-10-10', '2028-10-15'].map(civilDate)
    const pick = <T>(list: readonly T[]): T => list[Math.floor(random.next() * list.length)]!
    const expected = new Map<string, ReturnType<typeof offerStatus>>()
    const seats = Object.values(county.seats)
    const people = Object.values(county.people)
    for (const seatId of seats)
      for (const pollWorkerId of people) {
        const offer = await db().offer.create({
          data: { countyId: county.countyId, electionId: county.electionId, seatId, pollWorkerId },
        })
        const events: { kind: OfferEventKind; answerBy: (typeof dates)[number] | null }[] = [
          { kind: 'offered', answerBy: pick(dates) },
        ]
        for (let i = 0; i < 7; i++) {
          const kind = pick(kinds)
          if (!mayHappen(kind, offerStatus(events, today).state)) continue
          events.push({ kind, answerBy: kind === 'offered' || kind === 'extended' ? pick(dates) : null })
        }
        await db().offerEvent.createMany({
          data: events.map((event, sequence) => ({
            ...event,
            sequence,
            offerId: offer.id,
            countyId: county.countyId,
            at: new Date(),
            via: 'office' as const,
          })),
        })
        expected.set(offer.id, offerStatus(events, today))
      }
    const read = await listStandings(db(), county.electionId, today)
    expect(read).toHaveLength(25)
    for (const o of read) expect(o).toMatchObject(expected.get(o.id)!)
    expect(new Set(read.map((o) => o.state)).size).toBeGreaterThan(3)
  })
})
