/** What a county asks of a crew as a whole: how many students, how many of one party; and whom a party named. */
import { describe, expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import { listReplacements } from '@/lib/offers/queries-replacements'
import { emptySeat, publishRoster, seatPerson } from '@/lib/roster/commands'
import { loadRosterGround } from '@/lib/roster/facts'
import { studentPlaces } from '@/lib/roster/instance'
import { getElectionHead } from '@/lib/roster/queries'
import { getCrewFaults } from '@/lib/roster/queries-crews'
import { useDatabase } from '@/tests/support/database'
import { actorWith, HELD_ON, makeSmallCounty, markOf, type SmallCounty } from './support'

useDatabase()

const seat = async (c: SmallCounty, seatId: string, workerId: string) =>
  seatPerson(c.clerk, {
    electionId: c.electionId,
    seatId,
    workerId,
    move: 'no',
    expected: await markOf(c.electionId),
  })
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
      rules: { studentsPerCrew: 1 } as Parameters<typeof studentPlaces>[0]['rules'],
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

it('names crews with more of one party than the crew rules allow, to those who may read parties', async () => {
  const c = await makeSmallCounty()
  await db().pollWorker.updateMany({ where: { countyId: c.countyId }, data: { party: 'Maple' } })
  await seat(c, c.seats.northLead, c.people.ana)
  await seat(c, c.seats.northCheckIn, c.people.ben)
  expect(await faults(c), 'no rule of its own').toEqual([])
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
  // Two seats: at most one of a party.
  expect(await faults(c)).toMatchObject([{ kind: 'party', party: 'Maple', people: 2, most: 1 }])
  expect(await faults(c, 'administrator')).toEqual([])
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
