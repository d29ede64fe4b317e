import { describe, expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import { ElectionInput, makeElection } from '@/lib/elections/commands'
import { MoveInput, movePlace } from '@/lib/elections/commands-move'
import { countEndingBefore } from '@/lib/elections/queries'
import { previewMove } from '@/lib/elections/queries-move'
import { getElectionHead } from '@/lib/roster/queries'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents, HELD_ON, makeSmallCounty, type SmallCounty, seated } from '../roster/support'

useDatabase()

async function seatPeople(
  c: SmallCounty,
  who: [seat: keyof SmallCounty['seats'], person: keyof SmallCounty['people']][],
) {
  const roster = await db().roster.create({
    data: { countyId: c.countyId, electionId: c.electionId, version: 1 },
  })
  await db().seating.createMany({
    data: who.map(([seat, person]) => ({
      countyId: c.countyId,
      rosterId: roster.id,
      seatId: c.seats[seat],
      pollWorkerId: c.people[person],
      morningOn: seat === 'southAfternoon' ? null : HELD_ON,
      afternoonOn: seat === 'southMorning' ? null : HELD_ON,
    })),
  })
  await db().roster.update({ where: { id: roster.id }, data: { publishedAt: new Date() } })
}

describe('a new election', () => {
  const input = (c: SmallCounty, more: object = {}) =>
    ElectionInput.parse({
      countyId: c.countyId,
      name: 'Runoff',
      kind: 'runoff',
      heldOn: '2028-12-05',
      fromElectionId: c.electionId,
      ...more,
    })

  it('takes over seats, hand changes and people, with the days moved along', async () => {
    const c = await makeSmallCounty()
    await seatPeople(c, [
      ['northLead', 'ana'],
      ['southMorning', 'cleo'],
    ])
    // Two days before election day: an early-voting day moves along.
    await db().seat.update({ where: { id: c.seats.southLead }, data: { servesOn: '2028-11-05' } })
    await db().crewChange.create({
      data: {
        countyId: c.countyId,
        electionId: c.electionId,
        pollingPlaceId: c.places.north,
        positionKey: 'check-in',
        servesOn: HELD_ON,
        shift: 'full',
        change: 1,
        reason: 'a long line in the spring',
        changedBy: c.clerk.accountId,
        changedAt: new Date(),
      },
    })
    const id = await makeElection(c.clerk, input(c, { people: 'yes' }))
    const seats = await db().seat.findMany({ where: { electionId: id }, orderBy: { servesOn: 'asc' } })
    expect(seats.map((s) => s.servesOn)).toEqual([
      '2028-12-03',
      '2028-12-05',
      '2028-12-05',
      '2028-12-05',
      '2028-12-05',
    ])
    expect(await db().crewChange.findMany({ where: { electionId: id } })).toMatchObject([
      { servesOn: '2028-12-05', change: 1 },
    ])
    const who = await seated(id)
    expect(Object.values(who).sort()).toEqual([c.people.ana, c.people.cleo].sort())
    const half = await db().seating.findFirstOrThrow({
      where: { pollWorkerId: c.people.cleo, roster: { electionId: id } },
    })
    expect(half).toMatchObject({ morningOn: '2028-12-05', afternoonOn: null, locked: false })
    // The earlier one stays.
    expect(await db().seat.count({ where: { electionId: c.electionId } })).toBe(5)
    const [record] = await db().auditRecord.findMany({ where: { chain: c.countyId } })
    expect(record).toMatchObject({
      event: 'election.made',
      detail: { seats: 5, fromElectionId: c.electionId },
    })
    await expect(makeElection(c.clerk, input(c))).rejects.toMatchObject({ code: 'CONFLICT' })
  })

  it('knows how many are certified before its day, but no longer on it', async () => {
    const c = await makeSmallCounty()
    const id = await makeElection(c.clerk, input(c))
    const ending = async () => countEndingBefore(await getElectionHead(c.clerk, c.countyId, id))
    await db().certificateSpan.updateMany({
      where: { countyId: c.countyId },
      data: { validUntil: '2028-11-10' },
    })
    // Ana, Ben, Cleo and Eve hold one, Dan none. The end is the first day without it.
    expect(await ending()).toEqual({ people: 4, lastOn: '2028-11-09' })
    await db().certificateSpan.updateMany({
      where: { pollWorkerId: c.people.ana, certificateKey: 'lead' },
      data: { validUntil: null },
    })
    await db().pollWorker.update({ where: { id: c.people.eve }, data: { active: false } })
    expect(await ending()).toEqual({ people: 2, lastOn: '2028-11-09' })
  })

  it('is made by the county’s staff, from its own elections', async () => {
    const c = await makeSmallCounty()
    const other = await makeSmallCounty()
    await expect(makeElection(actorWith('trainer', c.countyId), input(c))).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
    await expect(makeElection(other.clerk, input(c))).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await expect(makeElection(c.clerk, input(c, { fromElectionId: other.electionId }))).rejects.toMatchObject(
      { code: 'NOT_FOUND' },
    )
    expect(await db().election.count({ where: { countyId: c.countyId } })).toBe(1)
  })
})

describe('a place that moves', () => {
  const to = { name: 'Fire House', address: '7 Elm Street', lat: 42.3, lon: -91 }

  it('shows whom it touches, then tells each of them once, in their language', async () => {
    const c = await makeSmallCounty()
    await seatPeople(c, [
      ['northLead', 'ana'],
      ['northCheckIn', 'ben'],
      ['southMorning', 'cleo'],
    ])
    await db().pollWorker.update({
      where: { id: c.people.ana },
      data: { email: 'ana@example.org', languages: ['es'], maxTravelKm: 5 },
    })
    const preview = await previewMove(c.clerk, c.countyId, c.places.north, c.electionId, to)
    // Ana lives at the old place, 0.2° of latitude (22 km) from the new one, and travels 5 km.
    expect(preview.touched.people.map((p) => [p.name, p.reach.address, p.tooFar])).toEqual(
      expect.arrayContaining([
        ['Ana Test', 'ana@example.org', true],
        ['Ben Test', null, false],
      ]),
    )
    expect(preview.touched.people).toHaveLength(2)
    expect(preview.touched.seats).toBe(2)
    const input = MoveInput.parse({
      countyId: c.countyId,
      placeId: c.places.north,
      electionId: c.electionId,
      ...to,
      lat: '42.3',
      lon: '-91',
      reason: 'water damage',
      token: preview.token,
    })
    expect(await movePlace(c.clerk, input)).toBe(1)
    const messages = await db().outboxMessage.findMany({ where: { countyId: c.countyId } })
    expect(messages).toMatchObject([{ kind: 'place-moved', toAddress: 'ana@example.org', locale: 'es' }])
    expect(messages[0]!.body).toContain('7 Elm Street')
    expect(messages[0]!.body).toContain('water damage')
    expect(messages[0]!.body).not.toContain('Ben')
    const again = await previewMove(c.clerk, c.countyId, c.places.north, c.electionId, to)
    await expect(movePlace(c.clerk, { ...input, token: again.token })).rejects.toThrow(
      /where the place is now/,
    )
    // A second press finds the place moved already.
    await expect(movePlace(c.clerk, input)).rejects.toMatchObject({ code: 'CONFLICT' })
    expect(await db().outboxMessage.count({ where: { countyId: c.countyId } })).toBe(1)
    expect(await db().placeMove.findMany({ where: { countyId: c.countyId } })).toMatchObject([
      { before: { name: 'Hall N', address: 'N Street', lat: 42.1, lon: -91 }, peopleTold: 1 },
    ])
    expect(await auditEvents(c.countyId)).toEqual(['place.moved'])
  })

  it('writes to nobody while no roster is published: nobody has been asked yet', async () => {
    const c = await makeSmallCounty()
    await seatPeople(c, [['northLead', 'ana']])
    await db().pollWorker.update({ where: { id: c.people.ana }, data: { email: 'ana@example.org' } })
    const id = await makeElection(
      c.clerk,
      ElectionInput.parse({
        countyId: c.countyId,
        name: 'Runoff',
        kind: 'runoff',
        heldOn: '2028-12-05',
        fromElectionId: c.electionId,
        people: 'yes',
      }),
    )
    const of = { countyId: c.countyId, placeId: c.places.north, electionId: id }
    const { touched, token } = await previewMove(c.clerk, c.countyId, c.places.north, id, to)
    expect([touched.people.length, touched.asked]).toEqual([1, false])
    expect(await movePlace(c.clerk, { ...of, ...to, reason: 'water', token })).toBe(0)
    expect(await db().outboxMessage.count({ where: { countyId: c.countyId } })).toBe(0)
  })

  it('is refused where others sit there by now, and then nothing moves', async () => {
    const c = await makeSmallCounty()
    const preview = await previewMove(c.clerk, c.countyId, c.places.north, c.electionId, to)
    await seatPeople(c, [['northLead', 'ana']])
    const input = {
      countyId: c.countyId,
      placeId: c.places.north,
      electionId: c.electionId,
      ...to,
      reason: 'water',
      token: preview.token,
    }
    await expect(movePlace(c.clerk, input)).rejects.toMatchObject({ code: 'CONFLICT' })
    expect(await db().pollingPlace.findUnique({ where: { id: c.places.north } })).toMatchObject({
      address: 'N Street',
    })
    for (const [actor, code] of [
      [actorWith('trainer', c.countyId), 'FORBIDDEN'],
      [actorWith('countyStaff', 'elsewhere'), 'NOT_FOUND'],
    ] as const)
      await expect(movePlace(actor, input)).rejects.toMatchObject({ code })
  })
})
