/** Pairs of people to keep together or apart: from the table through the run to the board and the moves by hand. */
import { randomUUID } from 'node:crypto'
import { describe, expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import { seededRandom } from '@/lib/kernel/random'
import { listReplacements } from '@/lib/offers/queries-replacements'
import { evaluateRoster } from '@/lib/roster/core/verify'
import { loadRosterGround } from '@/lib/roster/facts'
import { listMissedPairs } from '@/lib/roster/facts-pairs'
import { getElectionHead } from '@/lib/roster/queries'
import { getMissedPairs } from '@/lib/roster/queries-crews'
import { getMoving } from '@/lib/roster/queries-move'
import { getSeatPage } from '@/lib/roster/queries-seat'
import { getWhyPerson } from '@/lib/roster/queries-why'
import { useDatabase } from '@/tests/support/database'
import { grow, HELD_ON, makeSmallCounty, run, type SmallCounty, seat } from './support'

useDatabase()

type Kind = 'together' | 'apart'
const pair = (c: SmallCounty, kind: Kind, pollWorkerId: string, otherId: string) =>
  db().personPair.create({
    data: {
      ...{ countyId: c.countyId, kind, pollWorkerId, otherId },
      recordedBy: c.clerk.accountId,
      recordedAt: new Date(),
    },
  })
const placesIn = async (rosterId: string) =>
  new Map(
    (await db().seating.findMany({ where: { rosterId }, include: { seat: true } })).map((row) => [
      row.pollWorkerId,
      row.seat.pollingPlaceId,
    ]),
  )

describe('pairs of people', () => {
  it('are handed to the optimiser while they are open and both people active', async () => {
    const c = await makeSmallCounty()
    const { ana, ben, cleo, dan, eve } = c.people
    await pair(c, 'apart', ana, ben)
    await pair(c, 'together', cleo, ben)
    const old = await pair(c, 'apart', ana, cleo)
    await pair(c, 'apart', dan, ana)
    await db().personPair.update({ where: { id: old.id }, data: { takenBackAt: new Date() } })
    await db().pollWorker.update({ where: { id: dan }, data: { active: false } })
    await pair(await makeSmallCounty(), 'apart', eve, ana)
    const { rules } = (await loadRosterGround(c.electionId)).instance
    expect(rules.keepApart).toEqual([{ people: [ana, ben], weight: 1 }])
    expect(rules.keepTogether).toEqual([{ people: [cleo, ben], weight: 1 }])
  })

  it('part two, and bring two together, whom a run without them seats otherwise; as many seats are filled', async () => {
    let [parted, joined] = [0, 0]
    for (const seed of [11, 12, 13]) {
      const c = await makeSmallCounty()
      await grow(c, seed)
      const first = await run(c)
      const before = await placesIn(first.id)
      const people = [...before.keys()].sort()
      const find = (same: boolean, not: string[]) => {
        for (const x of people)
          for (const y of people)
            if (x < y && !not.includes(x) && !not.includes(y) && (before.get(x) === before.get(y)) === same)
              return [x, y] as const
        throw new Error('no such two')
      }
      const apart = find(true, [])
      const together = find(false, [...apart])
      await pair(c, 'apart', ...apart)
      await pair(c, 'together', ...together)
      const seats = await db().seating.count({ where: { rosterId: first.id } })
      expect(await listMissedPairs(db(), first)).toHaveLength(2)
      const second = await run(c)
      const after = await placesIn(second.id)
      expect(await db().seating.count({ where: { rosterId: second.id } })).toBe(seats)
      // Independent of the board: read from the seats.
      const [x, y] = apart.map((id) => after.get(id))
      if (x && y) expect(x).not.toBe(y)
      const [v, w] = together.map((id) => after.get(id))
      if (v && w) expect(v).toBe(w)
      parted += x && y ? 1 : 0
      joined += v && w ? 1 : 0
      expect(await listMissedPairs(db(), second)).toEqual([])
    }
    expect(parted).toBeGreaterThan(0)
    expect(joined).toBeGreaterThan(0)
  })

  // Outside value: the checker's own count of violations (core/verify-values.ts), on rosters thrown at random.
  it('are missed on the board as often as the independent checker says', async () => {
    const seen = new Map<Kind, number>()
    for (const seed of [1, 2, 3, 4]) {
      const c = await makeSmallCounty()
      await grow(c, seed)
      const random = seededRandom(100 + seed)
      const place = await db().pollingPlace.findMany({ where: { countyId: c.countyId } })
      const position = await db().position.findFirstOrThrow({ where: { countyId: c.countyId, key: 'lead' } })
      // An early-voting day beside election day.
      await db().seat.createMany({
        data: place.flatMap(({ id }) =>
          [8, 9].map((number) => ({
            countyId: c.countyId,
            electionId: c.electionId,
            pollingPlaceId: id,
            positionId: position.id,
            servesOn: '2028-11-06',
            shift: 'full',
            number,
          })),
        ),
      })
      const seats = await db().seat.findMany({ where: { electionId: c.electionId }, orderBy: { id: 'asc' } })
      const people = await db().pollWorker.findMany({
        where: { countyId: c.countyId },
        orderBy: { id: 'asc' },
      })
      const roster = await db().roster.create({
        data: { countyId: c.countyId, electionId: c.electionId, version: 1 },
      })
      for (const day of [HELD_ON, '2028-11-06']) {
        const free = random.shuffle(people.map((p) => p.id))
        for (const { id, shift, servesOn } of seats) {
          if (servesOn !== day || random.next() < 0.1) continue
          // One in four whole days is shared.
          const parts =
            shift !== 'full' ? [shift] : random.next() < 0.25 ? ['morning', 'afternoon'] : ['full']
          for (const part of parts) {
            const pollWorkerId = free.pop()
            if (!pollWorkerId) continue
            await db().seating.create({
              data: {
                ...{ countyId: c.countyId, rosterId: roster.id, seatId: id, pollWorkerId },
                morningOn: part === 'afternoon' ? null : day,
                afternoonOn: part === 'morning' ? null : day,
              },
            })
          }
        }
      }
      // Each pair once, whichever order; some of people who are no longer active.
      const drawn = new Set<string>()
      while (drawn.size < 60) {
        const two = [random.pick(people).id, random.pick(people).id]
        const key = [...two].sort().join()
        if (two[0] === two[1] || drawn.has(key)) continue
        drawn.add(key)
        await pair(c, random.next() < 0.5 ? 'together' : 'apart', two[0]!, two[1]!)
      }
      await db().pollWorker.updateMany({
        where: { id: { in: people.slice(0, 5).map((p) => p.id) } },
        data: { active: false },
      })
      const { instance } = await loadRosterGround(c.electionId)
      const missed = await listMissedPairs(db(), roster)
      expect(missed.length).toBe(evaluateRoster(instance, instance.current).values.violations)
      for (const { kind } of missed) seen.set(kind, (seen.get(kind) ?? 0) + 1)
    }
    expect(Math.min(seen.get('together') ?? 0, seen.get('apart') ?? 0)).toBeGreaterThan(0)
  })

  it('are told on the board with names and places, and not where one of the two sits nowhere', async () => {
    const c = await makeSmallCounty()
    const { ana, ben, cleo } = c.people
    await pair(c, 'apart', ana, ben)
    await pair(c, 'together', ana, cleo)
    const missed = async () => getMissedPairs(await getElectionHead(c.clerk, c.countyId, c.electionId))
    expect(await missed()).toEqual([])
    await seat(c, c.seats.northLead, ana)
    expect(await missed()).toEqual([])
    await seat(c, c.seats.northCheckIn, ben)
    await seat(c, c.seats.southMorning, cleo)
    expect(
      (await missed()).map(({ kind, people }) => [kind, ...people.flatMap((p) => [p.name, p.place.code])]),
    ).toEqual([
      ['apart', 'Ana Test', 'N', 'Ben Test', 'N'],
      ['together', 'Ana Test', 'N', 'Cleo Test', 'S'],
    ])
    await db().pollWorker.update({ where: { id: ben }, data: { active: false } })
    expect((await missed()).map(({ kind }) => kind)).toEqual(['together'])
  })

  it('are said before a move by hand: on the seat’s page and when somebody is dragged', async () => {
    const c = await makeSmallCounty()
    const { ana, ben, cleo } = c.people
    await pair(c, 'apart', ben, ana)
    await pair(c, 'together', ben, cleo)
    await seat(c, c.seats.northLead, ana)
    await seat(c, c.seats.southMorning, cleo)
    const page = await getSeatPage(c.clerk, c.countyId, c.electionId, c.seats.northCheckIn, '')
    const apart = 'Ben Test and Ana Test are to be kept apart; both would be in the crew of N Hall N.'
    const together =
      'Ben Test and Cleo Test are to serve together; they would be at N Hall N and at S Hall S.'
    expect(page.candidates.map((p) => [p.name, p.pairWarnings])).toContainEqual([
      'Ben Test',
      [apart, together],
    ])
    await seat(c, c.seats.southAfternoon, ben)
    const moving = await getMoving(c.clerk, c.countyId, c.electionId, c.seats.southAfternoon, [
      c.seats.northCheckIn,
      c.seats.southLead,
    ])
    expect(moving!.options.get(c.seats.northCheckIn)!.pairWarnings).toEqual([apart, together])
    // Within the crew nothing changes for the pair.
    expect(moving!.options.get(c.seats.southLead)!.pairWarnings).toEqual([])
    // A place that already misses the pair isn't warned of again, and going apart is no fault.
    await db().seating.updateMany({
      where: { pollWorkerId: ben },
      data: { seatId: c.seats.northCheckIn, morningOn: HELD_ON },
    })
    const back = await getMoving(c.clerk, c.countyId, c.electionId, c.seats.northCheckIn, [
      c.seats.southAfternoon,
      c.seats.northLead,
    ])
    for (const option of back!.options.values()) expect(option.pairWarnings).toEqual([])
  })

  it('are said of a swap for both who change seats', async () => {
    const c = await makeSmallCounty()
    const { ana, ben, cleo, eve } = c.people
    await db().pollWorker.update({ where: { id: eve }, data: { unavailableOn: [] } })
    await seat(c, c.seats.northLead, ana)
    await seat(c, c.seats.northCheckIn, ben)
    await seat(c, c.seats.southAfternoon, eve)
    await seat(c, c.seats.southMorning, cleo)
    await pair(c, 'together', ana, ben)
    await pair(c, 'apart', eve, ana)
    const moving = await getMoving(c.clerk, c.countyId, c.electionId, c.seats.northCheckIn, [
      c.seats.southAfternoon,
    ])
    const option = moving!.options.get(c.seats.southAfternoon)!
    expect(option.way).toBe('swap')
    expect(option.pairWarnings).toHaveLength(2)
    expect(option.pairWarnings[0]).toMatch(/Ana Test and Ben Test are to serve together/)
    expect(option.pairWarnings[1]).toMatch(/Eve Test and Ana Test are to be kept apart/)
    const page = await getSeatPage(c.clerk, c.countyId, c.electionId, c.seats.northCheckIn, '')
    expect(page.swaps.find((swap) => swap.personId === eve)!.pairWarnings).toEqual(option.pairWarnings)
  })

  it('put whoever would break one further down among those to ask for an empty seat', async () => {
    const c = await makeSmallCounty()
    const { ana, ben } = c.people
    const fay = randomUUID()
    await db().pollWorker.create({
      data: {
        ...{ id: fay, countyId: c.countyId, countyRef: 'Fay', givenName: 'Fay', familyName: 'Test' },
        ...{ homeLat: 42, homeLon: -91 },
      },
    })
    await db().certificateSpan.create({
      data: {
        countyId: c.countyId,
        pollWorkerId: fay,
        certificateKey: 'check-in',
        validFrom: '2028-01-01',
      },
    })
    await seat(c, c.seats.northLead, ana)
    const asked = async () =>
      (
        await listReplacements(
          c.clerk,
          { seatId: c.seats.northCheckIn, part: 'full' },
          { countyId: c.countyId, workerId: c.people.dan },
        )
      ).free.map((r) => [r.name, r.pairWarnings.length])
    // Ben lives half-way, Fay at the other place.
    expect(await asked()).toEqual([
      ['Ben Test', 0],
      ['Fay Test', 0],
    ])
    const apart = await pair(c, 'apart', ana, ben)
    expect(await asked()).toEqual([
      ['Fay Test', 0],
      ['Ben Test', 1],
    ])
    await db().personPair.update({ where: { id: apart.id }, data: { takenBackAt: new Date() } })
    // Gil leads at the other place, and may not take this seat himself.
    const gil = await db().pollWorker.create({
      data: { countyId: c.countyId, countyRef: 'Gil', givenName: 'Gil', familyName: 'Test' },
    })
    await db().certificateSpan.create({
      data: {
        countyId: c.countyId,
        pollWorkerId: gil.id,
        certificateKey: 'lead',
        validFrom: '2028-01-01',
      },
    })
    await seat(c, c.seats.southLead, gil.id)
    await pair(c, 'together', gil.id, ben)
    expect(await asked()).toEqual([
      ['Fay Test', 0],
      ['Ben Test', 1],
    ])
  })

  it('count on the page that tells why somebody sits where they sit', async () => {
    const c = await makeSmallCounty()
    const { ana, ben } = c.people
    await seat(c, c.seats.northLead, ana)
    const why = async () =>
      (await getWhyPerson(c.clerk, c.countyId, c.electionId, ben, c.places.north)).asked!.wishes
    expect(await why()).toBe(0)
    await pair(c, 'apart', ana, ben)
    expect(await why()).toBe(1)
  })
})
