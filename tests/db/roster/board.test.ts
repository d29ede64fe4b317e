import { describe, expect, it } from 'vitest'
import { verifyChain } from '@/lib/audit/verify'
import { db } from '@/lib/db/client'
import { fillRoster } from '@/lib/jobs/fill-roster'
import { areaIn } from '@/lib/places/core/area'
import { emptySeat, lockSeat, moveSeat, publishRoster, seatPerson, swapSeats } from '@/lib/roster/commands'
import { requestRosterRun } from '@/lib/roster/commands-run'
import { getBoard, getRuns } from '@/lib/roster/queries'
import { listChanges } from '@/lib/roster/queries-changes'
import { getComparison } from '@/lib/roster/queries-compare'
import { getMoving } from '@/lib/roster/queries-move'
import { getRosterPaper } from '@/lib/roster/queries-papers'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents, HELD_ON, makeSmallCounty, markOf, type SmallCounty, seated } from './support'

useDatabase()

const on = async (c: SmallCounty, seatId: string) => ({
  electionId: c.electionId,
  seatId,
  expected: await markOf(c.electionId),
})
const put = async (c: SmallCounty, seatId: string, workerId: string) =>
  seatPerson(c.clerk, { ...(await on(c, seatId)), workerId, move: 'no' })
const moving = (c: SmallCounty, from: string) =>
  getMoving(c.clerk, c.countyId, c.electionId, from, Object.values(c.seats))

describe('a move on the board', () => {
  it('says before it is made what each seat would do: allowed, travel, and who would come back', async () => {
    const c = await makeSmallCounty()
    await put(c, c.seats.northCheckIn, c.people.ana)
    await put(c, c.seats.southMorning, c.people.ben)
    const found = (await moving(c, c.seats.southMorning))!
    expect(found.person.name).toBe('Ben Test')
    // Ben's lead certificate ends on election day; the afternoon is as far as the morning; with Ana: she would go 11.1 km
    // (0.1 degrees of latitude) from her own door, Ben as far as before.
    expect(found.options.get(c.seats.northLead)).toMatchObject({ way: 'no', other: null })
    expect(found.options.get(c.seats.northLead)?.refusals[0]).toMatch(/does not hold the certificate/)
    expect(found.options.get(c.seats.southAfternoon)).toMatchObject({ way: 'put', changeKm: 0 })
    const swap = found.options.get(c.seats.northCheckIn)!
    expect(swap).toMatchObject({ way: 'swap', other: 'Ana Test' })
    expect(swap.changeKm).toBeCloseTo(11.1, 1)
  })

  it('tells no distance of a protected address, and finds a second seat at that time', async () => {
    const c = await makeSmallCounty()
    await put(c, c.seats.southMorning, c.people.ben)
    await put(c, c.seats.southAfternoon, c.people.ben)
    const found = (await moving(c, c.seats.southMorning))!
    expect(found.options.get(c.seats.northCheckIn)?.refusals).toEqual([
      'Ben Test has another seat at that time.',
    ])
    await db().pollWorker.update({ where: { id: c.people.ben }, data: { confidentialAddress: true } })
    await emptySeat(c.clerk, await on(c, c.seats.southAfternoon))
    expect((await moving(c, c.seats.southMorning))?.options.get(c.seats.northCheckIn)).toMatchObject({
      way: 'put',
      changeKm: null,
    })
  })

  it('takes a person into an empty seat in one act, and refuses what the preview refuses', async () => {
    const c = await makeSmallCounty()
    await put(c, c.seats.southMorning, c.people.ben)
    await put(c, c.seats.southLead, c.people.ana)
    const move = async (from: string, to: string) =>
      moveSeat(c.clerk, { ...(await on(c, from)), toSeatId: to })
    await expect(move(c.seats.southMorning, c.seats.northLead)).rejects.toThrow(/does not hold/)
    await expect(move(c.seats.southMorning, c.seats.southLead)).rejects.toThrow(/sits there already/)
    await expect(move(c.seats.northLead, c.seats.southAfternoon)).rejects.toThrow(/Nobody sits/)
    await put(c, c.seats.southAfternoon, c.people.ben)
    await expect(move(c.seats.southMorning, c.seats.northCheckIn)).rejects.toThrow(
      /also sits as Check-in at Hall S at that time/,
    )
    await emptySeat(c.clerk, await on(c, c.seats.southAfternoon))
    await move(c.seats.southMorning, c.seats.northCheckIn)
    expect(await seated(c.electionId)).toEqual({
      [c.seats.northCheckIn]: c.people.ben,
      [c.seats.southLead]: c.people.ana,
    })
    await lockSeat(c.clerk, { ...(await on(c, c.seats.northCheckIn)), locked: true })
    await expect(move(c.seats.northCheckIn, c.seats.southMorning)).rejects.toThrow(/locked/)
    expect(await moving(c, c.seats.northCheckIn)).toBeNull()
    for (const [actor, code] of [
      [actorWith('trainer', c.countyId), 'FORBIDDEN'],
      [actorWith('countyStaff', 'elsewhere'), 'NOT_FOUND'],
    ] as const)
      await expect(
        moveSeat(actor, { ...(await on(c, c.seats.southLead)), toSeatId: c.seats.northLead }),
      ).rejects.toMatchObject({ code })
    expect((await verifyChain(db(), c.countyId)).status).toBe('whole')
  })
})

describe('what another clerk did', () => {
  it('is told in words since the state that somebody has seen, and a move is one line', async () => {
    const c = await makeSmallCounty()
    const other = await db().account.create({
      data: { name: 'Ada Clerk', email: `${c.countyId}@example.org` },
    })
    const ada = { ...c.clerk, accountId: other.id }
    await put(c, c.seats.southMorning, c.people.ben)
    const seen = await markOf(c.electionId)
    expect((await listChanges(c.clerk, c.countyId, c.electionId, seen)).changes).toEqual([])
    await moveSeat(ada, { ...(await on(c, c.seats.southMorning)), toSeatId: c.seats.northCheckIn })
    await lockSeat(ada, { ...(await on(c, c.seats.northCheckIn)), locked: true })
    const told = await listChanges(c.clerk, c.countyId, c.electionId, seen)
    expect(told.mark).toBe(await markOf(c.electionId))
    expect(told.changes.map((l) => [l.text, l.when, l.byMe])).toEqual([
      ['Ada Clerk locked Check-in at N Hall N', 'a moment ago', false],
      [
        'Ada Clerk moved Ben Test from Check-in, morning at S Hall S to Check-in at N Hall N',
        'a moment ago',
        false,
      ],
    ])
    const all = await listChanges(c.clerk, c.countyId, c.electionId, null)
    expect(all.changes.at(-1)?.text).toMatch(/^(You|Somebody) put Ben Test in Check-in, morning/)
    await expect(
      listChanges(actorWith('countyStaff', 'elsewhere'), c.countyId, c.electionId, null),
    ).rejects.toMatchObject({ code: 'NOT_FOUND' })
  })

  it('is told across a publishing, where the next change begins another draft', async () => {
    const c = await makeSmallCounty()
    await put(c, c.seats.southMorning, c.people.ben)
    const seen = await markOf(c.electionId)
    await publishRoster(c.clerk, { electionId: c.electionId, expected: seen })
    await emptySeat(c.clerk, await on(c, c.seats.southMorning))
    const told = await listChanges(c.clerk, c.countyId, c.electionId, seen)
    expect(told.changes.map((l) => l.text.split(' ').slice(1, 3).join(' '))).toEqual([
      'took Ben',
      'published version',
    ])
  })
})

describe('two rosters compared', () => {
  it('counts what differs from the published version and from before the last run', async () => {
    const c = await makeSmallCounty()
    await put(c, c.seats.northCheckIn, c.people.ana)
    await put(c, c.seats.southMorning, c.people.ben)
    await publishRoster(c.clerk, { electionId: c.electionId, expected: await markOf(c.electionId) })
    await swapSeats(c.clerk, { ...(await on(c, c.seats.northCheckIn)), otherSeatId: c.seats.southMorning })
    const compare = (what?: string) => getComparison(c.clerk, c.countyId, c.electionId, { with: what })
    const first = await compare()
    expect(first.against?.name).toBe('version 1, the last one published')
    expect(first.figures).toEqual({ filled: 0, emptied: 0, changed: 2, same: 0 })
    // By hand: Ana goes 0.1 degrees of latitude from her door, 11.1 km; Ben is in the middle both times, 5.6 km.
    expect(first.travelKm.before).toBeCloseTo(5.56, 1)
    expect(first.travelKm.after).toBeCloseTo(16.68, 1)
    expect(first.seats.map((s) => [s.text, s.before?.name, s.after?.name])).toEqual([
      ['Check-in at N Hall N', 'Ana Test', 'Ben Test'],
      ['Check-in, morning at S Hall S', 'Ben Test', 'Ana Test'],
    ])
    // A site that opens early has the same seat on many days.
    const servesOn = (day: string) =>
      db().seat.update({ where: { id: c.seats.southMorning }, data: { servesOn: day } })
    await servesOn('2028-11-05')
    expect((await compare()).seats.map((s) => s.text)).toContain(
      'Check-in, morning on November 5, 2028 at S Hall S',
    )
    await servesOn(HELD_ON)
    await fillRoster((await requestRosterRun(c.clerk, { electionId: c.electionId })).runId, {
      withoutThreads: true,
    })
    const run = await compare('run')
    expect(run.choices.map((choice) => choice.key)).toEqual(['1', 'run'])
    // The run seats Ana as lead in the north, Cleo in the south's morning, Ben in one of the other two.
    const after = await seated(c.electionId)
    const before = { [c.seats.northCheckIn]: c.people.ben, [c.seats.southMorning]: c.people.ana }
    const seats = new Set([...Object.keys(after), ...Object.keys(before)])
    const differing = [...seats].filter((id) => after[id] !== before[id])
    expect(run.seats.map((s) => s.seatId).sort()).toEqual(differing.sort())
    expect(run.figures.filled + run.figures.emptied + run.figures.changed).toBe(differing.length)
  })

  it('says level by level what the run has proven', async () => {
    const c = await makeSmallCounty()
    await fillRoster((await requestRosterRun(c.clerk, { electionId: c.electionId })).runId, {
      withoutThreads: true,
    })
    const { newest } = await getRuns(c.electionId)
    // By hand: one of two lead seats (only Ana may lead), two of the three others.
    expect(newest?.outcome?.levels.map((l) => [l.title, l.proven])).toEqual([
      ['The whole roster', true],
      ['1 of 2 lead seats filled', true],
      ['2 of 3 further seats filled', true],
      ['Travel', true],
    ])
    expect(await auditEvents(c.countyId)).toContain('roster.filled')
  })
})

describe('the map', () => {
  it('filters the table to a part of it, and reads no part from nonsense', async () => {
    const c = await makeSmallCounty()
    const board = await getBoard(c.clerk, c.countyId, c.electionId, {
      area: areaIn('-91.1,42.05,-90.9,42.2')!,
    })
    expect(board.crews.map((crew) => crew.place.code)).toEqual(['N'])
    expect(board.places.map((p) => [p.code, p.matches])).toEqual([
      ['N', true],
      ['S', false],
    ])
    for (const text of ['', '1,2,3', 'a,b,c,d', '5,0,4,1', undefined]) expect(areaIn(text)).toBeNull()
  })

  it('is printed whole or in parts of places', async () => {
    const c = await makeSmallCounty()
    const places = async (part?: { page: number; places: number }) => {
      const paper = await getRosterPaper(c.clerk, c.countyId, c.electionId, part)
      return [[...new Set(paper.seats.map((seat) => seat.placeCode))], paper.page, paper.pages]
    }
    expect(await places()).toEqual([['N', 'S'], 1, 1])
    expect(await places({ page: 1, places: 1 })).toEqual([['N'], 1, 2])
    expect(await places({ page: 9, places: 1 })).toEqual([['S'], 2, 2])
  })
})
