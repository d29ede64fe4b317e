import { describe, expect, it } from 'vitest'
import { verifyChain } from '@/lib/audit/verify'
import { db } from '@/lib/db/client'
import {
  emptySeat,
  lockSeat,
  publishRoster,
  recordExport,
  seatPerson,
  swapSeats,
} from '@/lib/roster/commands'
import { getBoard, getElectionHead } from '@/lib/roster/queries'
import { getSeatPage } from '@/lib/roster/queries-seat'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents, HELD_ON, makeSmallCounty, markOf, type SmallCounty, seated } from './support'

useDatabase()

const put = async (
  c: SmallCounty,
  seatId: string,
  workerId: string,
  more: { move?: 'yes' | 'no'; expected?: string; actor?: SmallCounty['clerk'] } = {},
) =>
  seatPerson(more.actor ?? c.clerk, {
    electionId: c.electionId,
    seatId,
    workerId,
    move: more.move ?? 'no',
    expected: more.expected ?? (await markOf(c.electionId)),
  })
const on = async (c: SmallCounty, seatId: string) => ({
  electionId: c.electionId,
  seatId,
  expected: await markOf(c.electionId),
})

describe('a roster changed by hand', () => {
  it('seats, locks, unlocks and empties, each with its audit record', async () => {
    const c = await makeSmallCounty()
    await put(c, c.seats.northLead, c.people.ana)
    expect(await seated(c.electionId)).toEqual({ [c.seats.northLead]: c.people.ana })
    await lockSeat(c.clerk, { ...(await on(c, c.seats.northLead)), locked: true })
    await expect(emptySeat(c.clerk, await on(c, c.seats.northLead))).rejects.toThrow(/locked/)
    await lockSeat(c.clerk, { ...(await on(c, c.seats.northLead)), locked: false })
    await emptySeat(c.clerk, await on(c, c.seats.northLead))
    expect(await seated(c.electionId)).toEqual({})
    expect(await auditEvents(c.countyId)).toEqual([
      'roster.seat-changed',
      'roster.seat-locked',
      'roster.seat-locked',
      'roster.seat-changed',
    ])
    expect((await verifyChain(db(), c.countyId)).status).toBe('whole')
  })

  it('says why a person may not sit there, and changes nothing', async () => {
    const c = await makeSmallCounty()
    await expect(put(c, c.seats.northLead, c.people.dan)).rejects.toThrow(/does not hold the certificate/)
    await expect(put(c, c.seats.northCheckIn, c.people.eve)).rejects.toThrow(/not available/)
    await expect(put(c, c.seats.northCheckIn, c.people.cleo)).rejects.toThrow(/half a day only/)
    await expect(put(c, c.seats.southAfternoon, c.people.cleo)).rejects.toThrow(
      /not available for the afternoon/,
    )
    // Ben's lead certificate ends on election day: the first day without it.
    await expect(put(c, c.seats.northLead, c.people.ben)).rejects.toThrow(/does not hold the certificate/)
    await db().pollWorker.update({ where: { id: c.people.ben }, data: { maxTravelKm: 2 } })
    // 0.05 degrees of latitude are 5.56 km, 3.5 miles; 2 km are 1.2 miles.
    await expect(put(c, c.seats.northCheckIn, c.people.ben)).rejects.toThrow(/3\.5 miles away.*1\.2 miles/)
    expect(await db().roster.count({ where: { electionId: c.electionId } })).toBe(0)
    expect(await auditEvents(c.countyId)).toEqual([])
  })

  it('never seats a person twice at one time; a move leaves the other seat empty', async () => {
    const c = await makeSmallCounty()
    await put(c, c.seats.northCheckIn, c.people.ben)
    await expect(put(c, c.seats.southMorning, c.people.ben)).rejects.toThrow(
      /already sits as Check-in at Hall N/,
    )
    await put(c, c.seats.southMorning, c.people.ben, { move: 'yes' })
    await put(c, c.seats.southAfternoon, c.people.ben)
    expect(await seated(c.electionId)).toEqual({
      [c.seats.southMorning]: c.people.ben,
      [c.seats.southAfternoon]: c.people.ben,
    })
  })

  it('swaps two people only where each may sit in the other seat', async () => {
    const c = await makeSmallCounty()
    await put(c, c.seats.northLead, c.people.ana)
    await put(c, c.seats.southMorning, c.people.ben)
    const swap = async () =>
      swapSeats(c.clerk, { ...(await on(c, c.seats.northLead)), otherSeatId: c.seats.southMorning })
    await expect(swap()).rejects.toThrow(/Ben Test does not hold/)
    await db().certificateSpan.updateMany({
      where: { pollWorkerId: c.people.ben, certificateKey: 'lead' },
      data: { validUntil: null },
    })
    await swap()
    expect(await seated(c.electionId)).toEqual({
      [c.seats.northLead]: c.people.ben,
      [c.seats.southMorning]: c.people.ana,
    })
    expect((await auditEvents(c.countyId)).at(-1)).toBe('roster.swapped')
  })

  it('refuses whoever may not change rosters, and does not tell other counties that it exists', async () => {
    const c = await makeSmallCounty()
    const trainer = actorWith('trainer', c.countyId)
    const administrator = actorWith('administrator', c.countyId)
    const neighbour = actorWith('countyStaff', 'elsewhere')
    const worker = actorWith('pollWorker', c.countyId)
    for (const [actor, code] of [
      [trainer, 'FORBIDDEN'],
      [administrator, 'FORBIDDEN'],
      [worker, 'FORBIDDEN'],
      [neighbour, 'NOT_FOUND'],
    ] as const) {
      await expect(put(c, c.seats.northLead, c.people.ana, { actor })).rejects.toMatchObject({ code })
      await expect(
        lockSeat(actor, { ...(await on(c, c.seats.northLead)), locked: true }),
      ).rejects.toMatchObject({
        code,
      })
      await expect(
        publishRoster(actor, { electionId: c.electionId, expected: 'none:0' }),
      ).rejects.toMatchObject({ code })
    }
    await expect(getBoard(neighbour, c.countyId, c.electionId, {})).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    await expect(getBoard(c.clerk, 'elsewhere', c.electionId, {})).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    await expect(recordExport(neighbour, c.electionId, 'csv')).rejects.toMatchObject({ code: 'NOT_FOUND' })
    const other = await makeSmallCounty()
    await expect(put(c, other.seats.northLead, c.people.ana)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await expect(put(c, c.seats.northLead, other.people.ana)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    expect(await auditEvents(c.countyId)).toEqual([])
  })

  it('lets one of two clerks through who saw the same roster; the other is told, and nothing is lost', async () => {
    const c = await makeSmallCounty()
    const expected = await markOf(c.electionId)
    const other = actorWith('countyStaff', c.countyId)
    const both = await Promise.allSettled([
      put(c, c.seats.northCheckIn, c.people.ben, { expected }),
      put(c, c.seats.northLead, c.people.ana, { expected, actor: other }),
    ])
    const refused = both.filter((b) => b.status === 'rejected')
    expect(refused).toHaveLength(1)
    expect((refused[0] as PromiseRejectedResult).reason).toMatchObject({ code: 'CONFLICT' })
    expect(Object.keys(await seated(c.electionId))).toHaveLength(1)
    expect(await db().roster.count({ where: { electionId: c.electionId } })).toBe(1)
  })

  it('books nobody twice when ten clerks push at once', async () => {
    const c = await makeSmallCounty()
    const seats = [c.seats.northCheckIn, c.seats.southMorning, c.seats.southAfternoon]
    const tries = Array.from({ length: 30 }, async (_, i) => {
      for (let again = 0; again < 6; again++)
        try {
          return await put(c, seats[i % 3]!, [c.people.ben, c.people.ana][i % 2]!, {
            move: i % 5 ? 'yes' : 'no',
          })
        } catch (error) {
          if ((error as { code?: string }).code !== 'CONFLICT') throw error
        }
    })
    await Promise.all(tries)
    const rows = await db().seating.findMany({ where: { countyId: c.countyId } })
    const halves = rows.flatMap((r) => [
      ...(r.morningOn ? [`${r.pollWorkerId} morning`] : []),
      ...(r.afternoonOn ? [`${r.pollWorkerId} afternoon`] : []),
    ])
    expect(new Set(halves).size).toBe(halves.length)
    const roster = await db().roster.findFirstOrThrow({ where: { electionId: c.electionId } })
    // Every revision left at least one record: none was lost.
    expect((await auditEvents(c.countyId)).length).toBeGreaterThanOrEqual(roster.revision)
    expect((await verifyChain(db(), c.countyId)).status).toBe('whole')
  })

  it('is refused by the database itself where code would book a person or a seat twice', async () => {
    const c = await makeSmallCounty()
    await put(c, c.seats.northCheckIn, c.people.ben)
    const row = await db().seating.findFirstOrThrow({ where: { countyId: c.countyId } })
    const { id: _, ...again } = row
    await expect(
      db().seating.create({ data: { ...again, seatId: c.seats.southMorning } }),
    ).rejects.toMatchObject({
      code: 'P2002',
    })
    await expect(
      db().seating.create({ data: { ...again, pollWorkerId: c.people.ana } }),
    ).rejects.toMatchObject({
      code: 'P2002',
    })
  })
})

describe('publishing', () => {
  it('freezes the version; the next change starts a new draft that begins as a copy', async () => {
    const c = await makeSmallCounty()
    await put(c, c.seats.northLead, c.people.ana)
    await put(c, c.seats.northCheckIn, c.people.ben)
    await publishRoster(c.clerk, { electionId: c.electionId, expected: await markOf(c.electionId) })
    const first = await db().roster.findFirstOrThrow({
      where: { electionId: c.electionId, version: 1 },
      include: { seatings: { orderBy: { id: 'asc' } } },
    })
    expect(first.publishedAt).not.toBeNull()
    await expect(db().seating.deleteMany({ where: { rosterId: first.id } })).rejects.toThrow(/stays as it is/)
    await emptySeat(c.clerk, await on(c, c.seats.northCheckIn))
    expect(await seated(c.electionId)).toEqual({ [c.seats.northLead]: c.people.ana })
    const again = await db().roster.findFirstOrThrow({
      where: { id: first.id },
      include: { seatings: { orderBy: { id: 'asc' } } },
    })
    expect(again).toEqual(first)
    expect((await getElectionHead(c.clerk, c.countyId, c.electionId)).roster).toMatchObject({ version: 2 })
  })

  it('is refused while somebody sits where they may not any more, without a draft, and for an old page', async () => {
    const c = await makeSmallCounty()
    const publish = async (expected?: string) =>
      publishRoster(c.clerk, {
        electionId: c.electionId,
        expected: expected ?? (await markOf(c.electionId)),
      })
    await expect(publish()).rejects.toThrow(/no draft/)
    await put(c, c.seats.northLead, c.people.ana)
    await expect(publish('none:0')).rejects.toThrow(/Somebody changed this roster/)
    await db().certificateSpan.deleteMany({ where: { pollWorkerId: c.people.ana, certificateKey: 'lead' } })
    await expect(publish()).rejects.toThrow(/1 seat somebody sits who may not/)
    const board = await getBoard(c.clerk, c.countyId, c.electionId, {})
    expect(board.misplaced).toBe(1)
    expect(board.crews.flatMap((crew) => crew.seats).find((s) => s.id === c.seats.northLead)?.state).toBe(
      'misplaced',
    )
  })
})

describe('the page of one seat', () => {
  it('lists who may sit there, nearest first, and tells no distance of a protected address', async () => {
    const c = await makeSmallCounty()
    const page = await getSeatPage(c.clerk, c.countyId, c.electionId, c.seats.northCheckIn, '')
    // Hand count: Ana 0 km, Ben 5.6 km; Cleo offers half a day, Eve is away, Dan has no certificate.
    expect(page.candidates.map((p) => [p.name, p.km?.toFixed(1)])).toEqual([
      ['Ana Test', '0.0'],
      ['Ben Test', '5.6'],
    ])
    expect(page.sieve.map((s) => s.people)).toEqual([5, 4, 2, 2, 2])
    expect(page.more).toBe(0)
    await db().pollWorker.update({ where: { id: c.people.ana }, data: { confidentialAddress: true } })
    const hidden = await getSeatPage(c.clerk, c.countyId, c.electionId, c.seats.northCheckIn, 'ana')
    expect(hidden.candidates.map((p) => [p.name, p.km === null])).toEqual([
      ['Ben Test', false],
      ['Ana Test', true],
    ])
    expect(hidden.found?.[0]).toMatchObject({ name: 'Ana Test', km: null, refusal: null })
  })

  it('agrees with the rules on who is kept from a seat: excluded, barred, too far, a no, another seat', async () => {
    const c = await makeSmallCounty()
    const who = async () => {
      const page = await getSeatPage(c.clerk, c.countyId, c.electionId, c.seats.northCheckIn, '')
      return [page.sieve.map((s) => s.people), page.candidates.map((p) => p.name)]
    }
    // Hand count: Ben lives 5.6 km away.
    await db().pollWorker.update({ where: { id: c.people.ben }, data: { maxTravelKm: 5 } })
    expect(await who()).toEqual([[5, 4, 2, 1, 1], ['Ana Test']])
    await db().pollWorker.update({ where: { id: c.people.ben }, data: { maxTravelKm: 6, student: true } })
    await db().county.update({
      where: { id: c.countyId },
      data: { settings: { serviceRules: { students: 'no' } } },
    })
    expect(await who()).toEqual([[5, 4, 1, 1, 1], ['Ana Test']])
    await db().county.update({ where: { id: c.countyId }, data: { settings: {} } })
    await db().exclusion.create({
      data: {
        countyId: c.countyId,
        pollWorkerId: c.people.ben,
        kind: 'conflict',
        pollingPlaceId: c.places.north,
        firstOn: HELD_ON,
        recordedBy: c.clerk.accountId,
        recordedAt: new Date(),
      },
    })
    expect(await who()).toEqual([[5, 4, 1, 1, 1], ['Ana Test']])
    await db().exclusion.deleteMany({ where: { pollWorkerId: c.people.ben } })
    await put(c, c.seats.northLead, c.people.ana)
    expect(await who()).toEqual([
      [5, 4, 2, 2, 1],
      ['Ben Test', 'Ana Test'],
    ])
    await put(c, c.seats.northCheckIn, c.people.ben)
    expect((await who())[1]).toEqual(['Ana Test'])
    const offer = await db().offer.create({
      data: {
        countyId: c.countyId,
        electionId: c.electionId,
        seatId: c.seats.southMorning,
        pollWorkerId: c.people.ana,
      },
    })
    await db().offerEvent.createMany({
      data: (['offered', 'declined'] as const).map((kind, sequence) => ({
        offerId: offer.id,
        sequence,
        countyId: c.countyId,
        kind,
        at: new Date(),
        via: 'office',
        answerBy: '2028-10-01',
        reason: kind === 'declined' ? 'away' : null,
      })),
    })
    expect((await who())[1]).toEqual([])
  })

  it('offers only swaps that are allowed both ways, with the change of travel', async () => {
    const c = await makeSmallCounty()
    await put(c, c.seats.northCheckIn, c.people.ben)
    await put(c, c.seats.southMorning, c.people.ana)
    const page = await getSeatPage(c.clerk, c.countyId, c.electionId, c.seats.northCheckIn, '')
    // Ana is at the north door and now sits 11.1 km south; Ben is in the middle: 11.1 km are saved.
    expect(page.swaps.map((s) => [s.person, s.changeKm?.toFixed(1)])).toEqual([['Ana Test', '-11.1']])
  })
})
