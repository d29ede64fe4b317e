/** What a county asks of a crew as a whole: how many students, how many of one party; and whom a party named. */
import { describe, expect, it } from 'vitest'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { fillRoster } from '@/lib/jobs/fill-roster'
import { listReplacements } from '@/lib/offers/queries-replacements'
import { emptySeat, moveSeat, publishRoster } from '@/lib/roster/commands'
import { requestRosterRun } from '@/lib/roster/commands-run'
import { countyRosterRulesOf } from '@/lib/roster/county-rules'
import { loadRosterGround } from '@/lib/roster/facts'
import { studentPlaces } from '@/lib/roster/instance'
import { getElectionHead, getRuns } from '@/lib/roster/queries'
import { getCrewFaults } from '@/lib/roster/queries-crews'
import { getMoving } from '@/lib/roster/queries-move'
import { getSeatPage } from '@/lib/roster/queries-seat'
import { useDatabase } from '@/tests/support/database'
import { actorWith, HELD_ON, makeSmallCounty, markOf, type SmallCounty, seat } from './support'

useDatabase()

const rules = (c: SmallCounty, serviceRules: object) =>
  db().county.update({ where: { id: c.countyId }, data: { settings: { serviceRules } } })
const faults = async (c: SmallCounty, access: 'countyStaff' | 'administrator' = 'countyStaff') => {
  const actor = actorWith(access, c.countyId)
  return getCrewFaults(actor, await getElectionHead(actor, c.countyId, c.electionId))
}
const certify = (c: SmallCounty, pollWorkerId: string) =>
  db().certificateSpan.createMany({
    data: { countyId: c.countyId, pollWorkerId, certificateKey: 'check-in', validFrom: '2028-01-01' },
    skipDuplicates: true,
  })

describe('students in a crew', () => {
  it('are as many as the county lets serve together, by hand and when a roster is published', async () => {
    const c = await makeSmallCounty()
    await db().pollWorker.updateMany({
      where: { id: { in: [c.people.ana, c.people.ben] } },
      data: { student: true },
    })
    await rules(c, { studentsPerCrew: 1 })
    await seat(c, c.seats.northLead, c.people.ana)
    await expect(seat(c, c.seats.northCheckIn, c.people.ben)).rejects.toThrow(/1 student .* would have 2/)
    expect(await db().seating.count({ where: { countyId: c.countyId } }), 'nothing half done').toBe(1)
    await rules(c, { studentsPerCrew: 2 })
    await seat(c, c.seats.northCheckIn, c.people.ben)
    expect(await faults(c)).toEqual([])
    await rules(c, { studentsPerCrew: 1 })
    expect(await faults(c)).toMatchObject([{ kind: 'students', people: 2, most: 1, servesOn: HELD_ON }])
    const publish = async () =>
      publishRoster(c.clerk, { electionId: c.electionId, expected: await markOf(c.electionId) })
    await expect(publish()).rejects.toThrow(/more students/)
    await emptySeat(c.clerk, {
      electionId: c.electionId,
      seatId: c.seats.northCheckIn,
      expected: await markOf(c.electionId),
    })
    await publish()
  })

  it('law: the optimiser may put no more of them into a place, whoever they are', async () => {
    const c = await makeSmallCounty()
    await db().pollWorker.updateMany({ where: { countyId: c.countyId }, data: { student: true } })
    for (const id of Object.values(c.people)) await certify(c, id)
    for (const studentsPerCrew of [0, 1, 2]) {
      await rules(c, { studentsPerCrew })
      const { instance } = await loadRosterGround(c.electionId)
      const allowed = instance.places.map(
        (place) => instance.people.filter((p) => !p.excludedPlaces.includes(place.id)).length,
      )
      // Two places: so many in all, and no more in either.
      expect(Math.max(...allowed)).toBeLessThanOrEqual(studentsPerCrew)
      expect(allowed.reduce((sum, n) => sum + n, 0)).toBe(Math.min(5, 2 * studentsPerCrew))
    }
    await rules(c, {})
    const { instance } = await loadRosterGround(c.electionId)
    expect(instance.people.every((p) => p.excludedPlaces.length === 0)).toBe(true)
  })

  it('go to the nearest place that has room, after those who are locked there', () => {
    const person = (id: string, homeLat: number) => ({
      id,
      homeLat,
      homeLon: 0,
      languages: [],
      electionsServed: 0,
      maxTravelKm: null,
      unavailableOn: [],
      offersShift: 'full',
      active: true,
      student: true,
      livesOutside: false,
      homePrecinct: null,
      birthYear: null,
      party: null,
    })
    const seatAt = (id: string, placeId: string) =>
      ({ id, placeId, servesOn: '2028-11-07' }) as unknown as Parameters<
        typeof studentPlaces
      >[0]['seats'][number]
    const chosen = studentPlaces({
      seats: [seatAt('s1', 'north'), seatAt('s2', 'south')],
      places: [
        { id: 'north', lat: 1, lon: 0, precincts: null },
        { id: 'south', lat: 0, lon: 0, precincts: null },
        { id: 'closed', lat: 0.9, lon: 0, precincts: null },
      ],
      people: [person('a', 0.9), person('b', 0.8), person('c', 0.1), person('d', 0.2)],
      exclusions: [],
      pairs: [],
      rules: { studentsPerCrew: 1 } as Parameters<typeof studentPlaces>[0]['rules'],
      wishes: countyRosterRulesOf({}),
      lastPlaces: new Map(),
      spans: ['a', 'b', 'c', 'd'].map((personId) => ({
        personId,
        certificateKey: 'x',
        validFrom: '2028-01-01' as never,
        validUntil: null,
      })),
      seated: [{ seatId: 's2', personId: 'd', half: 'full', locked: true }],
    })
    expect(Object.fromEntries(chosen)).toEqual({ a: 'north', b: null, c: null, d: 'south' })
  })
})

/** At most half of a crew of one party; the small county's crew in the north has two seats. */
async function halfOfOneParty(c: SmallCounty): Promise<void> {
  const template = await import('@/lib/crews/content').then((m) => [...m.loadCrewTemplates().values()][0]!)
  await db().crewRules.create({
    data: {
      countyId: c.countyId,
      version: 1,
      citation: 'Invented Code 7',
      ruleTable: { ...template.ruleTable, sameParty: 'atMostHalf' } as object,
      demand: template.demand as object,
      publishedAt: new Date(),
    },
  })
}
const party = (c: SmallCounty, name: string, ids = Object.values(c.people)) =>
  db().pollWorker.updateMany({ where: { id: { in: ids } }, data: { party: name } })

describe('more of one party in a crew than the crew rules allow', () => {
  it('is named to those who may read parties; spellings count together, and no party counts for none', async () => {
    const c = await makeSmallCounty()
    await party(c, 'Maple')
    await party(c, 'maple ', [c.people.ana])
    await seat(c, c.seats.northLead, c.people.ana)
    await seat(c, c.seats.northCheckIn, c.people.ben)
    expect(await faults(c), 'no rule of its own').toEqual([])
    await halfOfOneParty(c)
    expect(await faults(c)).toMatchObject([{ kind: 'party', people: 2, most: 1 }])
    expect(await faults(c, 'administrator')).toEqual([])
    await party(c, 'Unaffiliated')
    expect(await faults(c)).toEqual([])
  })

  it('is told before somebody is put or moved there, and has to be meant when it is published', async () => {
    const c = await makeSmallCounty()
    await party(c, 'Maple')
    await halfOfOneParty(c)
    await seat(c, c.seats.northCheckIn, c.people.ben)
    const asked = await getSeatPage(c.clerk, c.countyId, c.electionId, c.seats.northLead, '')
    const ana = asked.candidates.find((person) => person.id === c.people.ana)
    expect(ana?.warnings).toEqual([expect.stringMatching(/would have 2 of party Maple; .* allow 1/)])
    await seat(c, c.seats.southLead, c.people.ana)
    const north = async (actor: Actor) =>
      (await getMoving(actor, c.countyId, c.electionId, c.seats.southLead, [c.seats.northLead]))?.options.get(
        c.seats.northLead,
      )
    expect(await north(c.clerk)).toMatchObject({
      way: 'put',
      warnings: [expect.stringMatching(/would have 2 of party Maple/)],
    })
    expect(await north(actorWith('administrator', c.countyId)), 'may not read parties').toMatchObject({
      way: 'put',
      warnings: [],
    })
    await moveSeat(c.clerk, {
      electionId: c.electionId,
      seatId: c.seats.southLead,
      toSeatId: c.seats.northLead,
      expected: await markOf(c.electionId),
    })
    const publish = async (more: object) =>
      publishRoster(c.clerk, { electionId: c.electionId, expected: await markOf(c.electionId), ...more })
    await expect(publish({})).rejects.toThrow(/1 crew has more of one party .* publish all the same/)
    expect(await db().roster.count({ where: { countyId: c.countyId, publishedAt: { not: null } } })).toBe(0)
    await publish({ overParty: 'yes' })
    const record = await db().auditRecord.findFirst({
      where: { chain: c.countyId, event: 'roster.published' },
    })
    expect(record?.detail).toMatchObject({ overParty: 1 })
  })
})

it('is told by a run that left it so', async () => {
  const c = await makeSmallCounty()
  await party(c, 'Maple')
  await halfOfOneParty(c)
  const { runId } = await requestRosterRun(c.clerk, { electionId: c.electionId })
  await fillRoster(runId, { withoutThreads: true })
  // By hand: three can be seated, Ana in the north, Cleo in the south, Ben in either; each crew may have one of them.
  expect((await getRuns(c.electionId)).newest?.outcome).toMatchObject({ filled: 3, overParty: 1 })
  expect((await faults(c)).map((fault) => fault.people)).toEqual([2])
})

it('asks those first whom a party named, by its newest list, where the county says so', async () => {
  const c = await makeSmallCounty()
  const others = [c.people.dan, c.people.eve]
  await db().pollWorker.updateMany({ where: { id: { in: others } }, data: { unavailableOn: [] } })
  for (const id of [...others, c.people.ben]) await certify(c, id)
  await db().nomination.createMany({
    data: [
      [c.people.dan, 2, '2028-06-01'],
      [c.people.eve, 1, '2028-06-01'],
      [c.people.ben, 1, '2028-01-01'],
    ].map(([pollWorkerId, rank, listedOn]) => ({
      countyId: c.countyId,
      pollWorkerId: pollWorkerId as string,
      party: 'Maple',
      positionKey: 'check-in',
      rank: rank as number,
      listedOn: listedOn as string,
    })),
  })
  const ask = async () =>
    (
      await listReplacements(
        c.clerk,
        { seatId: c.seats.northCheckIn, part: 'full' },
        { countyId: c.countyId, workerId: c.people.ben },
      )
    ).free.map((r) => [r.id, r.nominatedAs])
  expect((await ask()).every(([, rank]) => rank === null)).toBe(true)
  await rules(c, { nominated: 'first' })
  expect((await ask()).slice(0, 2)).toEqual([
    [c.people.eve, 1],
    [c.people.dan, 2],
  ])
})
