/** What a county wishes of its rosters: from the form through the run to the board. */
import { randomUUID } from 'node:crypto'
import { describe, expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import { publishRoster } from '@/lib/roster/commands'
import { RosterRulesInput, setRosterRules } from '@/lib/roster/commands-rules'
import { solveRoster } from '@/lib/roster/core/solve'
import { loadRosterGround } from '@/lib/roster/facts'
import { type CrewWishes, listMissedWishes } from '@/lib/roster/facts-wishes'
import { getElectionHead } from '@/lib/roster/queries'
import { getMissedWishes } from '@/lib/roster/queries-crews'
import { getMoving } from '@/lib/roster/queries-move'
import { getSeatPage } from '@/lib/roster/queries-seat'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents, grow, makeSmallCounty, markOf, run, type SmallCounty, seat } from './support'

useDatabase()

const form = {
  balance: 'none',
  firstParty: 'Elm',
  secondParty: 'Oak',
  mostDifference: '1',
  leadAndDeputy: 'any',
  deputy: 'deputy',
  language: '',
  speakers: '',
  experienced: '',
  elections: '',
  returnMiles: '',
  changeMiles: '',
  mostMiles: '',
}
const wish = (c: SmallCounty, wishes: Partial<typeof form>) =>
  setRosterRules(
    actorWith('administrator', c.countyId),
    RosterRulesInput.parse({ ...form, ...wishes, countyId: c.countyId }),
  )
const missedIn = (crews: readonly CrewWishes[]) =>
  crews
    .flatMap((crew) => crew.missed)
    .reduce((sum, missed) => sum + (missed.kind === 'lead-and-deputy' ? 1 : missed.people), 0)

describe("a county's wishes", () => {
  it('say what is wrong with them, and nothing is saved', async () => {
    const c = await makeSmallCounty()
    await expect(wish(c, { balance: 'counted', secondParty: '' })).rejects.toThrow(/two parties/)
    await expect(wish(c, { leadAndDeputy: 'different', secondParty: 'ELM ' })).rejects.toThrow(/two parties/)
    await expect(wish(c, { speakers: '1' })).rejects.toThrow(/language/)
    // The small county has no deputy; its lead can't be its own.
    await expect(wish(c, { leadAndDeputy: 'different' })).rejects.toThrow(/lead’s deputy/)
    await expect(wish(c, { leadAndDeputy: 'different', deputy: 'lead' })).rejects.toThrow(/lead’s deputy/)
    expect(() => RosterRulesInput.parse({ ...form, countyId: 'x', mostDifference: '1.5' })).toThrow(
      /whole number/,
    )
    expect((await db().county.findUniqueOrThrow({ where: { id: c.countyId } })).settings).toEqual({})
    await wish(c, { balance: 'counted' })
    expect(await auditEvents(c.countyId)).toContain('county.settings-changed')
  })

  // Outside value: the seated people counted anew by the database, crew by crew.
  it('are missed in the written roster as often as the optimiser says', async () => {
    let missed = 0
    for (const seed of [1, 2, 3]) {
      const c = await makeSmallCounty()
      await grow(c, seed)
      await wish(c, {
        balance: 'counted',
        leadAndDeputy: 'different',
        language: 'es',
        speakers: '1',
        experienced: '2',
        elections: '2',
      })
      const { instance } = await loadRosterGround(c.electionId)
      const result = solveRoster(instance)
      const roster = await run(c)
      const crews = await listMissedWishes(db(), roster)
      expect(missedIn(crews)).toBe(result.levels[1]!.value[0])
      missed += missedIn(crews)
    }
    expect(missed).toBeGreaterThan(0)
  })

  it('that are required are never broken, though a seat stays empty for it', async () => {
    const c = await makeSmallCounty()
    await grow(c, 4)
    // Hardly anybody is of the second party: full crews would be of the first.
    await db().pollWorker.updateMany({
      where: { countyId: c.countyId, party: 'Oak' },
      data: { party: 'Elm' },
    })
    await wish(c, { balance: 'none' })
    const free = await db().seating.count({ where: { rosterId: (await run(c)).id } })
    await wish(c, { balance: 'required', mostDifference: '2' })
    const bound = await run(c)
    const rows = await db().seating.findMany({
      where: { rosterId: bound.id },
      include: { seat: true, pollWorker: true },
    })
    const elms = new Map<string, number>()
    for (const { seat, pollWorker, morningOn } of rows)
      if (morningOn && pollWorker.party?.trim().toLowerCase() === 'elm')
        elms.set(seat.pollingPlaceId, (elms.get(seat.pollingPlaceId) ?? 0) + 1)
    expect(Math.max(...elms.values())).toBeLessThanOrEqual(2)
    expect(rows.length).toBeLessThan(free)
    const { outcome } = await db().rosterRun.findFirstOrThrow({
      where: { electionId: c.electionId },
      orderBy: { finishedAt: 'desc' },
    })
    expect(JSON.stringify(outcome)).toMatch(/party balance that the county requires/)
  })

  it('take the position that the county names for the deputy', async () => {
    const c = await makeSmallCounty()
    await db().pollWorker.updateMany({ where: { countyId: c.countyId }, data: { party: 'Elm' } })
    await seat(c, c.seats.northLead, c.people.ana)
    await seat(c, c.seats.northCheckIn, c.people.ben)
    const roster = await db().roster.findFirstOrThrow({ where: { electionId: c.electionId } })
    await wish(c, { leadAndDeputy: 'different', deputy: 'check-in' })
    expect((await listMissedWishes(db(), roster)).map((crew) => crew.missed)).toEqual([
      [{ kind: 'lead-and-deputy' }],
    ])
    const { instance } = await loadRosterGround(c.electionId)
    expect(instance.seats.map((s) => [s.position, s.duty])).toEqual(
      instance.seats.map((s) => [s.position, s.position === 'lead' ? 'lead' : 'deputy']),
    )
    await db().pollWorker.update({ where: { id: c.people.ben }, data: { party: 'Oak' } })
    expect(await listMissedWishes(db(), roster)).toEqual([])
  })

  it('that are required and were broken by hand have to be meant when the roster is published', async () => {
    const c = await makeSmallCounty()
    await db().pollWorker.updateMany({ where: { countyId: c.countyId }, data: { party: 'Elm' } })
    await seat(c, c.seats.northLead, c.people.ana)
    await seat(c, c.seats.northCheckIn, c.people.ben)
    const publish = async (more: object) =>
      publishRoster(c.clerk, { electionId: c.electionId, expected: await markOf(c.electionId), ...more })
    await wish(c, { balance: 'required', mostDifference: '1' })
    await expect(publish({})).rejects.toThrow(/1 crew has more of one party than your county allows/)
    await publish({ overParty: 'yes' })
    const { detail } = await db().auditRecord.findFirstOrThrow({
      where: { chain: c.countyId, event: 'roster.published' },
    })
    expect(detail).toMatchObject({ overParty: 1 })
  })

  it('about parties are told to those alone who may read parties', async () => {
    const c = await makeSmallCounty()
    await db().pollWorker.updateMany({ where: { countyId: c.countyId }, data: { party: 'Elm' } })
    await grow(c, 5)
    await wish(c, { balance: 'counted', mostDifference: '0', language: 'fr', speakers: '1' })
    await run(c)
    const kinds = async (access: 'countyStaff' | 'administrator') => {
      const actor = actorWith(access, c.countyId)
      const crews = await getMissedWishes(actor, await getElectionHead(actor, c.countyId, c.electionId))
      return new Set(crews.flatMap((crew) => crew.missed.map((missed) => missed.kind)))
    }
    expect(await kinds('countyStaff')).toEqual(new Set(['balance', 'speakers']))
    expect(await kinds('administrator')).toEqual(new Set(['speakers']))
  })

  // Outside value: the move is made behind the judge's back, and the database counts every crew anew.
  it('are said before a move by hand, where a crew would miss more of them', async () => {
    const c = await makeSmallCounty()
    const { ana, ben, cleo } = c.people
    await db().pollWorker.updateMany({ where: { id: { in: [ana, ben] } }, data: { party: 'Elm' } })
    await db().pollWorker.update({ where: { id: cleo }, data: { party: 'Oak', languages: ['fr'] } })
    await db().pollWorker.update({ where: { id: ben }, data: { electionsServed: 2 } })
    await wish(c, {
      balance: 'counted',
      mostDifference: '0',
      language: 'fr',
      speakers: '1',
      experienced: '1',
      elections: '2',
    })
    await seat(c, c.seats.northLead, ana)
    await seat(c, c.seats.southMorning, cleo)
    await seat(c, c.seats.northCheckIn, ben)
    const roster = await db().roster.findFirstOrThrow({ where: { electionId: c.electionId } })
    const counted = async () =>
      new Map(
        (await listMissedWishes(db(), roster)).flatMap(({ placeCode, missed }) =>
          missed.map((m) => [`${placeCode} ${m.kind}`, 'people' in m ? m.people : 1] as const),
        ),
      )
    const before = await counted()
    const warningsOf = async (from: string, to: string, actor = c.clerk) =>
      (await getMoving(actor, c.countyId, c.electionId, from, [to]))!.options.get(to)!
    let said = 0
    for (const [from, who] of [
      [c.seats.northCheckIn, ben],
      [c.seats.southMorning, cleo],
    ] as const)
      for (const to of [c.seats.southAfternoon, c.seats.southLead, c.seats.northCheckIn]) {
        if (to === from || (to === c.seats.northCheckIn && who !== ben)) continue
        const { wishWarnings } = await warningsOf(from, to)
        const { id } = await db().seating.findFirstOrThrow({ where: { seatId: from } })
        await db().seating.update({ where: { id }, data: { seatId: to } })
        const after = await counted()
        await db().seating.update({ where: { id }, data: { seatId: from } })
        const grown = [...after].filter(([key, n]) => n > (before.get(key) ?? 0))
        expect(wishWarnings, `${who} to ${to}`).toHaveLength(grown.length)
        said += grown.length
      }
    expect(said).toBeGreaterThan(1)
    const page = await getSeatPage(c.clerk, c.countyId, c.electionId, c.seats.southAfternoon, '')
    const option = await warningsOf(c.seats.northCheckIn, c.seats.southAfternoon)
    expect(page.candidates.find((p) => p.id === ben)!.wishWarnings).toEqual(option.wishWarnings)
    expect(option.wishWarnings).toContain('Then at N Hall N: 1 person with experience missing.')
  })

  it('keep everybody within the miles that the county names, in a run and by hand', async () => {
    const c = await makeSmallCounty()
    // Ben lives half-way between the two places, 0.05 degrees of latitude from each: 5.6 km or 3.5 miles.
    await wish(c, { mostMiles: '3' })
    await run(c)
    expect(await db().seating.count({ where: { pollWorkerId: c.people.ben } })).toBe(0)
    await expect(seat(c, c.seats.northCheckIn, c.people.ben)).rejects.toThrow()
    await wish(c, { mostMiles: '4' })
    await seat(c, c.seats.northCheckIn, c.people.ben)
  })

  it('bring people back to the place of the last published roster', async () => {
    const c = await makeSmallCounty()
    await grow(c, 6)
    const before = randomUUID()
    await db().election.create({
      data: { id: before, countyId: c.countyId, name: 'Before', kind: 'primary', heldOn: '2028-06-06' },
    })
    const position = await db().position.findFirstOrThrow({
      where: { countyId: c.countyId, key: 'check-in' },
    })
    const seat = await db().seat.create({
      data: {
        countyId: c.countyId,
        electionId: before,
        pollingPlaceId: c.places.south,
        positionId: position.id,
        servesOn: '2028-06-06',
        shift: 'full',
        number: 1,
      },
    })
    const roster = await db().roster.create({
      data: { countyId: c.countyId, electionId: before, version: 1 },
    })
    await db().seating.create({
      data: {
        countyId: c.countyId,
        rosterId: roster.id,
        seatId: seat.id,
        pollWorkerId: c.people.ben,
        morningOn: '2028-06-06',
        afternoonOn: '2028-06-06',
      },
    })
    const lastOf = async () =>
      (await loadRosterGround(c.electionId)).instance.people.find((p) => p.id === c.people.ben)!.lastPlaceId
    await wish(c, { returnMiles: '2' })
    expect(await lastOf()).toBeNull()
    await db().roster.update({ where: { id: roster.id }, data: { publishedAt: new Date() } })
    expect(await lastOf()).toBe(c.places.south)
    await wish(c, { returnMiles: '' })
    expect(await lastOf()).toBeNull()
    await wish(c, { returnMiles: '2' })
    // A mile is 1,609.344 m (international mile, NIST).
    expect((await loadRosterGround(c.electionId)).instance.costs.notReturning).toBe(3219)
  })
})
