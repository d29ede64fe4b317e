import { randomUUID } from 'node:crypto'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { fillRoster } from '@/lib/jobs/fill-roster'
import { seededRandom } from '@/lib/kernel/random'
import { seatPerson } from '@/lib/roster/commands'
import { requestRosterRun } from '@/lib/roster/commands-run'
import type { Access } from '@/prisma/client/enums'

/** A small county, by hand: two places, two positions, five seats on one day, and people whose fates can be told with
 *  a pencil. Everybody is certified for check-in; only some as lead. */
export const HELD_ON = '2028-11-07'

export const actorWith = (access: Access, countyId: string | null): Actor => ({
  accountId: randomUUID(),
  signInId: randomUUID(),
  name: 'A tester',
  locale: 'en',
  pollWorkerId: null,
  sharedTablet: false,
  grants: [{ access, countyId }],
})

export interface SmallCounty {
  countyId: string
  electionId: string
  clerk: Actor
  places: { north: string; south: string }
  seats: {
    northLead: string
    northCheckIn: string
    southLead: string
    southMorning: string
    southAfternoon: string
  }
  people: {
    /** Lead and check-in, at the north place's door. */
    ana: string
    /** Check-in, between the two. */
    ben: string
    /** Check-in, mornings only, at the south place. */
    cleo: string
    /** No certificate. */
    dan: string
    /** Check-in, away on election day. */
    eve: string
  }
}

export async function makeSmallCounty(): Promise<SmallCounty> {
  const countyId = `c-${randomUUID().slice(0, 8)}`
  await db().state.upsert({
    where: { id: 's' },
    create: { id: 's', name: 'State', abbreviation: 'ST', timeZone: 'America/Chicago' },
    update: {},
  })
  await db().county.create({
    data: {
      id: countyId,
      stateId: 's',
      name: 'County',
      timeZone: 'America/Chicago',
      equipmentProfile: 'fern',
    },
  })
  const id = () => randomUUID()
  const places = { north: id(), south: id() }
  const place = (placeId: string, code: string, lat: number) => ({
    id: placeId,
    countyId,
    code,
    name: `Hall ${code}`,
    address: `${code} Street`,
    lat,
    lon: -91,
    kind: 'pollingPlace' as const,
    equipmentProfile: 'fern',
  })
  await db().pollingPlace.createMany({ data: [place(places.north, 'N', 42.1), place(places.south, 'S', 42)] })
  const positions = { lead: id(), checkIn: id() }
  await db().position.createMany({
    data: [
      {
        id: positions.lead,
        countyId,
        key: 'lead',
        nameEn: 'Lead',
        nameEs: 'E',
        rank: 1,
        certificateKey: 'lead',
      },
      {
        id: positions.checkIn,
        countyId,
        key: 'check-in',
        nameEn: 'Check-in',
        nameEs: 'R',
        rank: 3,
        certificateKey: 'check-in',
      },
    ],
  })
  const electionId = id()
  await db().election.create({
    data: { id: electionId, countyId, name: 'General', kind: 'general', heldOn: HELD_ON },
  })
  const seats = {
    northLead: id(),
    northCheckIn: id(),
    southLead: id(),
    southMorning: id(),
    southAfternoon: id(),
  }
  const seat = (seatId: string, pollingPlaceId: string, positionId: string, shift = 'full') => ({
    id: seatId,
    countyId,
    electionId,
    pollingPlaceId,
    positionId,
    servesOn: HELD_ON,
    shift,
    number: 1,
  })
  await db().seat.createMany({
    data: [
      seat(seats.northLead, places.north, positions.lead),
      seat(seats.northCheckIn, places.north, positions.checkIn),
      seat(seats.southLead, places.south, positions.lead),
      seat(seats.southMorning, places.south, positions.checkIn, 'morning'),
      seat(seats.southAfternoon, places.south, positions.checkIn, 'afternoon'),
    ],
  })
  const people = { ana: id(), ben: id(), cleo: id(), dan: id(), eve: id() }
  const person = (workerId: string, givenName: string, lat: number, more: object = {}) => ({
    id: workerId,
    countyId,
    countyRef: givenName,
    givenName,
    familyName: 'Test',
    homeLat: lat,
    homeLon: -91,
    wantsPositionKey: 'lead',
    unavailableOn: [] as string[],
    languages: ['en'],
    ...more,
  })
  await db().pollWorker.createMany({
    data: [
      person(people.ana, 'Ana', 42.1),
      person(people.ben, 'Ben', 42.05),
      person(people.cleo, 'Cleo', 42, { offersShift: 'morning' }),
      person(people.dan, 'Dan', 42),
      person(people.eve, 'Eve', 42, { unavailableOn: [HELD_ON] }),
    ],
  })
  const span = (pollWorkerId: string, certificateKey: string, validUntil: string | null = null) => ({
    countyId,
    pollWorkerId,
    certificateKey,
    validFrom: '2028-01-01',
    validUntil,
  })
  await db().certificateSpan.createMany({
    data: [
      span(people.ana, 'lead'),
      span(people.ana, 'check-in'),
      span(people.ben, 'check-in', '2028-11-08'),
      // Lapses on election day itself: spans are half-open.
      span(people.ben, 'lead', '2028-11-07'),
      span(people.cleo, 'check-in'),
      span(people.eve, 'check-in'),
    ],
  })
  return { countyId, electionId, clerk: actorWith('countyStaff', countyId), places, seats, people }
}

/** Six more places with a lead, a deputy and three at check-in each, and people whose parties and languages are thrown. */
export async function grow(c: SmallCounty, seed: number): Promise<void> {
  const random = seededRandom(seed)
  const { countyId, electionId } = c
  const deputy = randomUUID()
  await db().position.create({
    data: {
      id: deputy,
      countyId,
      key: 'deputy',
      nameEn: 'Deputy',
      nameEs: 'S',
      rank: 2,
      certificateKey: 'lead',
    },
  })
  const lead = await db().position.findFirstOrThrow({ where: { countyId, key: 'lead' } })
  const checkIn = await db().position.findFirstOrThrow({ where: { countyId, key: 'check-in' } })
  const places = Array.from({ length: 6 }, (_, i) => ({
    id: randomUUID(),
    countyId,
    code: `G${i}`,
    name: `Hall ${i}`,
    address: 'Street',
    lat: 42 + random.next() / 5,
    lon: -91 + random.next() / 5,
    kind: 'pollingPlace' as const,
    equipmentProfile: 'fern',
  }))
  await db().pollingPlace.createMany({ data: places })
  await db().seat.createMany({
    data: places.flatMap((place) =>
      [lead.id, deputy, checkIn.id, checkIn.id, checkIn.id].map((positionId, number) => ({
        countyId,
        electionId,
        pollingPlaceId: place.id,
        positionId,
        servesOn: HELD_ON,
        shift: 'full',
        number: number + 1,
      })),
    ),
  })
  const people = Array.from({ length: 40 }, (_, i) => ({
    id: randomUUID(),
    countyId,
    countyRef: `G${i}`,
    givenName: `G${i}`,
    familyName: 'Test',
    homeLat: 42 + random.next() / 5,
    homeLon: -91 + random.next() / 5,
    wantsPositionKey: 'check-in',
    party: random.pick(['Elm', '\telm', 'Oak', 'Elm', 'unaffiliated', null]),
    languages: random.next() < 0.15 ? ['en', 'es'] : ['en'],
    electionsServed: random.below(4),
    offersShift: random.pick(['full', 'full', 'full', 'morning', 'afternoon']),
  }))
  await db().pollWorker.createMany({ data: people })
  await db().certificateSpan.createMany({
    data: people.flatMap(({ id }, i) =>
      ['check-in', ...(i % 2 === 0 ? ['lead'] : [])].map((certificateKey) => ({
        countyId,
        pollWorkerId: id,
        certificateKey,
        validFrom: '2028-01-01',
      })),
    ),
  })
}

/** The clerk puts somebody into a seat. */
export const seat = async (c: SmallCounty, seatId: string, workerId: string) =>
  seatPerson(c.clerk, {
    electionId: c.electionId,
    seatId,
    workerId,
    move: 'no',
    expected: await markOf(c.electionId),
  })

/** A run, without its threads; the newest roster then. */
export async function run(c: SmallCounty) {
  const { runId } = await requestRosterRun(c.clerk, { electionId: c.electionId })
  await fillRoster(runId, { withoutThreads: true })
  return db().roster.findFirstOrThrow({ where: { electionId: c.electionId }, orderBy: { version: 'desc' } })
}

/** The mark of the newest roster, as a page's form carries it. */
export async function markOf(electionId: string): Promise<string> {
  const roster = await db().roster.findFirst({ where: { electionId }, orderBy: { version: 'desc' } })
  return roster ? `${roster.id}:${roster.revision}` : 'none:0'
}

/** Who sits where in the newest roster: seat id → person id. */
export async function seated(electionId: string): Promise<Record<string, string>> {
  const roster = await db().roster.findFirst({
    where: { electionId },
    orderBy: { version: 'desc' },
    include: { seatings: true },
  })
  return Object.fromEntries((roster?.seatings ?? []).map((s) => [s.seatId, s.pollWorkerId]))
}

export const auditEvents = async (chain: string): Promise<string[]> =>
  (await db().auditRecord.findMany({ where: { chain }, orderBy: { sequence: 'asc' } })).map((r) => r.event)
