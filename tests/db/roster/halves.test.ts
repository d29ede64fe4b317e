import { randomUUID } from 'node:crypto'
import { beforeAll, describe, expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import { movePlace } from '@/lib/elections/commands-move'
import { previewMove } from '@/lib/elections/queries-move'
import { setEnv } from '@/lib/env'
import { fillRoster } from '@/lib/jobs/fill-roster'
import type { CivilDate } from '@/lib/kernel/dates'
import { offerReplacement } from '@/lib/offers/commands'
import { recordAnswer } from '@/lib/offers/commands-answer'
import { requestSending, sendOffers } from '@/lib/offers/commands-send'
import { getMyOffers } from '@/lib/offers/queries-mine'
import { getOfferPage } from '@/lib/offers/queries-offer'
import { AnswerInput } from '@/lib/offers/schema'
import { emptySeat, lockSeat, moveSeat, publishRoster, seatPerson, swapSeats } from '@/lib/roster/commands'
import { requestRosterRun } from '@/lib/roster/commands-run'
import { listMisplaced, loadRosterGround } from '@/lib/roster/facts'
import { countySheets } from '@/lib/roster/papers/county'
import { placeSheet } from '@/lib/roster/papers/sheets'
import { getBoard, getRuns } from '@/lib/roster/queries'
import { listChanges } from '@/lib/roster/queries-changes'
import { getComparison } from '@/lib/roster/queries-compare'
import { getMoving } from '@/lib/roster/queries-move'
import { loadPacketGround } from '@/lib/roster/queries-packet'
import { getRosterPaper } from '@/lib/roster/queries-papers'
import { getSeatPage } from '@/lib/roster/queries-seat'
import { useDatabase } from '@/tests/support/database'
import { asWorker, offerOf } from '../offers/support'
import { HELD_ON, makeSmallCounty, markOf, type SmallCounty } from './support'

useDatabase()
beforeAll(() => setEnv({ CLOCK_START: '2028-10-01T15:00:00Z', PUBLIC_URL: 'https://polls.example' }))

/** The small county without Ben and Eve, with somebody for afternoons: the north check-in seat, a whole day, can only be
 *  filled by Cleo (mornings) and Dora (afternoons) together. */
async function makeCounty() {
  const c = await makeSmallCounty()
  await db().pollWorker.updateMany({
    where: { id: { in: [c.people.ben, c.people.eve] } },
    data: { active: false },
  })
  const dora = await addPerson(c, 'Dora', 'afternoon')
  return { ...c, dora, check: c.seats.northCheckIn }
}
type County = Awaited<ReturnType<typeof makeCounty>>

async function addPerson(c: SmallCounty, givenName: string, offersShift: string): Promise<string> {
  const id = randomUUID()
  await db().pollWorker.create({
    data: {
      id,
      countyId: c.countyId,
      countyRef: givenName,
      givenName,
      familyName: 'Test',
      homeLat: 42.1,
      homeLon: -91,
      languages: ['en'],
      offersShift,
    },
  })
  await db().certificateSpan.create({
    data: {
      countyId: c.countyId,
      pollWorkerId: id,
      certificateKey: 'check-in',
      validFrom: '2028-01-01',
      validUntil: null,
    },
  })
  return id
}

const on = async (c: County, seatId: string) => ({
  electionId: c.electionId,
  seatId,
  expected: await markOf(c.electionId),
})
const put = async (c: County, seatId: string, workerId: string) =>
  seatPerson(c.clerk, { ...(await on(c, seatId)), workerId, move: 'no' })
const fill = async (c: County) => {
  const { runId } = await requestRosterRun(c.clerk, { electionId: c.electionId })
  await fillRoster(runId, { withoutThreads: true })
  return (await getRuns(c.electionId)).newest!
}
/** Seat, part of the day and person of each row of the newest roster. */
async function rows(c: County): Promise<string[]> {
  const roster = await db().roster.findFirstOrThrow({
    where: { electionId: c.electionId },
    orderBy: { version: 'desc' },
    include: { seatings: true },
  })
  const names = new Map<string, string>([
    ...Object.entries({ ...c.seats, ...c.people, dora: c.dora }).map(([name, id]): [string, string] => [
      id,
      name,
    ]),
  ])
  return roster.seatings
    .map(
      (s) =>
        `${names.get(s.seatId)} ${s.morningOn ? 'm' : ''}${s.afternoonOn ? 'a' : ''} ${names.get(s.pollWorkerId)}`,
    )
    .sort()
}
const spots = async (c: County) => {
  const { crews } = await getBoard(c.clerk, c.countyId, c.electionId, {})
  return crews
    .flatMap((crew) => crew.seats)
    .filter((s) => s.seatId === c.check)
    .map((s) => [s.id.slice(36), s.state, s.person?.name ?? null])
}
const figures = async (c: County) => {
  const board = await getBoard(c.clerk, c.countyId, c.electionId, {})
  const filled = board.places.reduce((sum, p) => sum + p.filled, 0)
  expect(board.positions.reduce((sum, p) => sum + p.filled, 0)).toBe(filled)
  return filled
}

describe('a whole-day seat that two people share', () => {
  it('is filled by the run with a morning and an afternoon, and counts as one seat everywhere', async () => {
    const c = await makeCounty()
    // The south place is too far for both, so that the seat of the north is theirs.
    await db().pollWorker.updateMany({ where: { countyId: c.countyId }, data: { maxTravelKm: 12 } })
    await db().seat.deleteMany({ where: { id: { in: [c.seats.southMorning, c.seats.southAfternoon] } } })
    const run = await fill(c)
    expect(run).toMatchObject({ status: 'done', outcome: { seats: 3, filled: 2 } })
    expect(await rows(c)).toEqual(['northCheckIn a dora', 'northCheckIn m cleo', 'northLead ma ana'])
    expect(await spots(c)).toEqual([
      ['.morning', 'filled', 'Cleo Test'],
      ['.afternoon', 'filled', 'Dora Test'],
    ])
    expect(await figures(c)).toBe(2)
    const { seats } = await getRosterPaper(c.clerk, c.countyId, c.electionId)
    expect(seats.filter((s) => s.seatId === c.check).map((s) => [s.shift, s.person?.name])).toEqual([
      ['morning', 'Cleo Test'],
      ['afternoon', 'Dora Test'],
    ])
    const ground = await loadPacketGround(c.electionId)
    const sheets = JSON.stringify(countySheets(ground, ground.places))
    expect(sheets).toContain('2 of 3 filled, 1 empty')
    expect(sheets).toContain('Check-in, afternoon')
    // Whoever shares a seat reads when they change over: as the county's offers say it.
    const sheetOf = async () => {
      const now = await loadPacketGround(c.electionId)
      return JSON.stringify(placeSheet(now, now.places.find((p) => p.id === c.places.north)!))
    }
    expect(await sheetOf()).toContain('"13:00"')
    await db().county.update({
      where: { id: c.countyId },
      data: { settings: { offers: { changeAt: '12:30' } } },
    })
    expect(await sheetOf()).toMatch(/Halves change over.*"12:30"/)
    // Published and changed: the next draft has both halves, and the run is compared half by half.
    await publishRoster(c.clerk, { electionId: c.electionId, expected: await markOf(c.electionId) })
    await lockSeat(c.clerk, { ...(await on(c, `${c.check}.morning`)), locked: true })
    expect(await rows(c)).toHaveLength(3)
    const against = await getComparison(c.clerk, c.countyId, c.electionId, { with: '1' })
    expect(against.figures).toEqual({ filled: 0, emptied: 0, changed: 0, same: 3 })
  })

  it('keeps a locked half and finds the other one, also with somebody who offers the whole day', async () => {
    const c = await makeCounty()
    await put(c, `${c.check}.morning`, c.people.cleo)
    expect(await spots(c)).toEqual([
      ['.morning', 'filled', 'Cleo Test'],
      ['.afternoon', 'halfEmpty', null],
    ])
    expect(await figures(c)).toBe(0)
    await lockSeat(c.clerk, { ...(await on(c, `${c.check}.morning`)), locked: true })
    await expect(emptySeat(c.clerk, await on(c, `${c.check}.morning`))).rejects.toThrow(/locked/)
    await expect(emptySeat(c.clerk, await on(c, c.check))).rejects.toThrow(/locked/)
    await db().seat.deleteMany({ where: { id: { in: [c.seats.southMorning, c.seats.southAfternoon] } } })
    await db().pollWorker.update({ where: { id: c.dora }, data: { offersShift: 'full' } })
    expect((await fill(c)).outcome).toMatchObject({ filled: 2, locked: 1 })
    expect(await rows(c)).toEqual(['northCheckIn a dora', 'northCheckIn m cleo', 'northLead ma ana'])
    // Who offers only mornings may not stay in an afternoon.
    expect(await listMisplaced(db(), (await markOf(c.electionId)).split(':')[0]!)).toEqual([])
    await db().pollWorker.update({ where: { id: c.dora }, data: { offersShift: 'morning' } })
    expect(await listMisplaced(db(), (await markOf(c.electionId)).split(':')[0]!)).toEqual([
      `${c.check}.afternoon`,
    ])
    expect((await spots(c))[1]).toEqual(['.afternoon', 'misplaced', 'Dora Test'])
  })

  it('says why half of it stays empty', async () => {
    const c = await makeCounty()
    await db().pollWorker.update({ where: { id: c.dora }, data: { offersShift: 'morning' } })
    await db().seat.deleteMany({ where: { id: { in: [c.seats.southMorning, c.seats.southAfternoon] } } })
    // Ana is needed as lead; Cleo and Dora offer mornings only.
    const run = await fill(c)
    const why = run.outcome!.empty.find((e) => e.seatId === c.check)!.reason
    expect(why).toMatch(/in the afternoon/)
    await put(c, `${c.check}.morning`, c.people.cleo)
    const page = await getSeatPage(c.clerk, c.countyId, c.electionId, `${c.check}.afternoon`, '')
    expect(page).toMatchObject({
      seat: { state: 'halfEmpty', shift: 'afternoon' },
      otherHalf: { state: 'filled', person: { name: 'Cleo Test' } },
    })
    expect(page.candidates.map((p) => p.name)).toEqual(['Ana Test'])
    expect(page.sieve.map((s) => s.people)).toEqual([4, 3, 1, 1, 0])
  })

  it('is changed by hand half by half: put, moved, changed, emptied, replaced by one person, each told in words', async () => {
    const c = await makeCounty()
    const finn = await addPerson(c, 'Finn', 'morning')
    const gus = await addPerson(c, 'Gus', 'full')
    await put(c, `${c.check}.morning`, c.people.cleo)
    await put(c, `${c.check}.afternoon`, c.dora)
    await expect(put(c, `${c.check}.afternoon`, finn)).rejects.toThrow(/not available for the afternoon/)
    await expect(put(c, c.check, finn)).rejects.toThrow(/half a day only/)
    await put(c, c.seats.southMorning, finn)
    const moving = await getMoving(c.clerk, c.countyId, c.electionId, `${c.check}.morning`, [
      c.seats.southMorning,
      c.seats.southAfternoon,
      `${c.check}.afternoon`,
    ])
    expect(moving!.seat.text).toBe('Check-in, morning at N Hall N')
    expect([...moving!.options.values()].map((o) => [o.way, o.other])).toEqual([
      ['swap', 'Finn Test'],
      ['no', null],
      ['no', 'Dora Test'],
    ])
    await swapSeats(c.clerk, {
      ...(await on(c, `${c.check}.morning`)),
      otherSeatId: c.seats.southMorning,
    })
    await moveSeat(c.clerk, { ...(await on(c, `${c.check}.afternoon`)), toSeatId: c.seats.southAfternoon })
    expect(await spots(c)).toEqual([
      ['.morning', 'filled', 'Finn Test'],
      ['.afternoon', 'halfEmpty', null],
    ])
    await moveSeat(c.clerk, { ...(await on(c, c.seats.southAfternoon)), toSeatId: `${c.check}.afternoon` })
    // One person for the whole day takes the place of both.
    await put(c, c.check, gus)
    expect(await spots(c)).toEqual([['', 'filled', 'Gus Test']])
    const { changes } = await listChanges(c.clerk, c.countyId, c.electionId, null)
    expect(changes[0]!.text).toMatch(/^You put Gus Test in Check-in at N Hall N in place of/)
    expect(changes[1]!.text).toBe(
      'You moved Dora Test from Check-in, afternoon at S Hall S to Check-in, afternoon at N Hall N',
    )
    await emptySeat(c.clerk, await on(c, c.check))
    expect(await spots(c)).toEqual([['', 'empty', null]])
  })

  it('is refused by the database where a half or a person would be booked twice, or no time at all', async () => {
    const c = await makeCounty()
    await put(c, `${c.check}.morning`, c.people.cleo)
    const { id: _, ...row } = await db().seating.findFirstOrThrow({ where: { countyId: c.countyId } })
    const refused = (data: Partial<typeof row>) =>
      expect(db().seating.create({ data: { ...row, ...data } })).rejects
    await refused({ pollWorkerId: c.dora }).toMatchObject({ code: 'P2002' })
    await refused({ pollWorkerId: c.dora, afternoonOn: HELD_ON }).toMatchObject({ code: 'P2002' })
    await refused({ seatId: c.seats.southMorning }).toMatchObject({ code: 'P2002' })
    await refused({ pollWorkerId: c.dora, morningOn: null }).toThrow(/Seating_takes_time/)
    await db().seating.create({
      data: { ...row, pollWorkerId: c.dora, morningOn: null, afternoonOn: HELD_ON },
    })
    expect(await rows(c)).toEqual(['northCheckIn a dora', 'northCheckIn m cleo'])
  })
})

describe('offers of a shared seat', () => {
  it('go to each person for their own hours; a no empties that half only, and somebody else is found for it', async () => {
    const c = await makeCounty()
    await db().opening.create({
      data: {
        countyId: c.countyId,
        pollingPlaceId: c.places.north,
        firstOn: null,
        lastOn: null,
        opensAt: '07:00',
        closesAt: '20:00',
      },
    })
    await put(c, `${c.check}.morning`, c.people.cleo)
    await put(c, `${c.check}.afternoon`, c.dora)
    await publishRoster(c.clerk, { electionId: c.electionId, expected: await markOf(c.electionId) })
    const { sendingId } = await requestSending(c.clerk, {
      electionId: c.electionId,
      answerBy: '2028-10-20' as CivilDate,
    })
    await sendOffers(sendingId)
    const hoursOf = async (id: string) =>
      (await getMyOffers(asWorker(c.countyId, id), 'en')).offers.map((o) => [
        o.shift,
        o.hours?.from,
        o.hours?.until,
      ])
    const [[morning], [afternoon]] = [await hoursOf(c.people.cleo), await hoursOf(c.dora)]
    expect([morning![0], afternoon![0]]).toEqual(['morning', 'afternoon'])
    // The morning's people hand over to the afternoon's.
    expect(morning![2]).toBe(afternoon![1])
    expect(morning![1]! < morning![2]! && afternoon![1]! < afternoon![2]!).toBe(true)

    const whereOf = async (id: string) =>
      (await getMyOffers(asWorker(c.countyId, id), 'en')).offers.map((o) => o.place.before)
    expect(await whereOf(c.dora)).toEqual([null])
    const to = { name: 'Fire House', address: '7 Elm Street', lat: 42.11, lon: -91 }
    const of = { countyId: c.countyId, placeId: c.places.north, electionId: c.electionId }
    const { token } = await previewMove(c.clerk, c.countyId, c.places.north, c.electionId, to)
    await movePlace(c.clerk, { ...of, ...to, reason: 'water damage', token })
    expect(await whereOf(c.dora), 'told where it was when they were asked').toEqual(['Hall N, N Street'])

    const offer = await offerOf(c.check, c.dora, 'afternoon')
    await recordAnswer(c.clerk, {
      ...AnswerInput.parse({ offerId: offer.id, answer: 'declined', reason: 'far' }),
      via: 'phone',
    })
    expect(await rows(c)).toEqual(['northCheckIn m cleo'])
    const page = await getOfferPage(c.clerk, c.countyId, c.electionId, offer.id)
    expect(page.seat.shift).toBe('afternoon')
    expect(page.replacements!.free.map((p) => p.name)).toEqual(['Ana Test'])
    await offerReplacement(c.clerk, {
      offerId: offer.id,
      workerId: c.people.ana,
      answerBy: '2028-10-25' as CivilDate,
    })
    expect(await rows(c)).toEqual(['northCheckIn a ana', 'northCheckIn m cleo'])
    expect((await offerOf(c.check, c.people.ana, 'afternoon')).shift).toBe('afternoon')
  })

  it('are made anew for somebody who now has another part of the day, and the old one is taken back', async () => {
    const c = await makeCounty()
    await put(c, c.check, c.people.ana)
    await publishRoster(c.clerk, { electionId: c.electionId, expected: await markOf(c.electionId) })
    const send = async () => {
      const { sendingId } = await requestSending(c.clerk, {
        electionId: c.electionId,
        answerBy: '2028-10-20' as CivilDate,
      })
      await sendOffers(sendingId)
    }
    await send()
    await emptySeat(c.clerk, await on(c, c.check))
    await put(c, `${c.check}.morning`, c.people.ana)
    await publishRoster(c.clerk, { electionId: c.electionId, expected: await markOf(c.electionId) })
    await send()
    const kinds = async (shift: string) =>
      (await offerOf(c.check, c.people.ana, shift)).events.map((e) => e.kind)
    expect(await kinds('full')).toEqual(['offered', 'withdrawn'])
    expect(await kinds('morning')).toEqual(['offered'])
  })
})

it('reads the halves of the roster so far into the optimiser', async () => {
  const c = await makeCounty()
  await put(c, `${c.check}.morning`, c.people.cleo)
  const { instance } = await loadRosterGround(c.electionId)
  expect(instance.current).toEqual([{ seatId: c.check, personId: c.people.cleo, half: 'morning' }])
})
