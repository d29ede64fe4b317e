import { randomUUID } from 'node:crypto'
import { describe, expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import { ineligibility } from '@/lib/roster/core/eligibility'
import { listMisplaced, loadRosterGround } from '@/lib/roster/facts'
import { useDatabase } from '@/tests/support/database'
import { HELD_ON, makeSmallCounty, type SmallCounty } from '../roster/support'

useDatabase()

const exclude = (c: SmallCounty, pollWorkerId: string, more: object = {}) =>
  db().exclusion.create({
    data: {
      countyId: c.countyId,
      pollWorkerId,
      kind: 'candidate',
      firstOn: HELD_ON,
      recordedBy: randomUUID(),
      recordedAt: new Date(),
      ...more,
    },
  })

/** Why somebody may not take a seat, as the roster job sees it. */
async function whyNot(c: SmallCounty, person: string, seat: string) {
  const { instance } = await loadRosterGround(c.electionId)
  const asked = instance.seats.find((s) => s.id === seat)!
  const half = asked.shift === 'full' ? 0 : asked.shift === 'morning' ? 1 : 2
  return ineligibility(instance, instance.people.find((p) => p.id === person)!, asked, half)
}

describe('exclusions and the roster', () => {
  it('keeps a candidate out on the days of the exclusion, and only then', async () => {
    const c = await makeSmallCounty()
    expect(await whyNot(c, c.people.ana, c.seats.northLead)).toBeNull()
    const row = await exclude(c, c.people.ana, { firstOn: '2028-06-01', lastOn: HELD_ON })
    expect(await whyNot(c, c.people.ana, c.seats.northLead)).toBe('excluded')
    await db().exclusion.update({ where: { id: row.id }, data: { lastOn: '2028-11-06' } })
    expect(await whyNot(c, c.people.ana, c.seats.northLead)).toBeNull()
    await db().exclusion.update({ where: { id: row.id }, data: { lastOn: null } })
    expect(await whyNot(c, c.people.ana, c.seats.northLead)).toBe('excluded')
    await db().exclusion.update({ where: { id: row.id }, data: { takenBackAt: new Date() } })
    expect(await whyNot(c, c.people.ana, c.seats.northLead)).toBeNull()
  })

  it('keeps somebody with a conflict away from that place only', async () => {
    const c = await makeSmallCounty()
    await exclude(c, c.people.ana, { kind: 'conflict', pollingPlaceId: c.places.north })
    expect(await whyNot(c, c.people.ana, c.seats.northLead)).toBe('excluded-place')
    expect(await whyNot(c, c.people.ana, c.seats.southLead)).toBeNull()
  })

  it('marks a seat whose person was excluded later, by whatever rule', async () => {
    const c = await makeSmallCounty()
    const roster = await db().roster.create({
      data: { countyId: c.countyId, electionId: c.electionId, version: 1 },
    })
    await db().seating.create({
      data: {
        countyId: c.countyId,
        rosterId: roster.id,
        seatId: c.seats.northLead,
        pollWorkerId: c.people.ana,
        morningOn: HELD_ON,
        afternoonOn: HELD_ON,
      },
    })
    const misplaced = () => listMisplaced(db(), roster.id)
    expect(await misplaced()).toEqual([])
    const row = await exclude(c, c.people.ana, { pollingPlaceId: c.places.south })
    expect(await misplaced()).toEqual([])
    await db().exclusion.update({ where: { id: row.id }, data: { pollingPlaceId: c.places.north } })
    expect(await misplaced()).toEqual([c.seats.northLead])
    await db().exclusion.delete({ where: { id: row.id } })

    const set = (settings: object) => db().county.update({ where: { id: c.countyId }, data: { settings } })
    await db().pollWorker.update({ where: { id: c.people.ana }, data: { student: true, birthYear: 2013 } })
    expect(await misplaced()).toEqual([])
    // 2028 − 2013 = 15.
    await set({ serviceRules: { studentsFromAge: 16 } })
    expect(await misplaced()).toEqual([c.seats.northLead])
    expect(await whyNot(c, c.people.ana, c.seats.northLead)).toBe('excluded')
    await set({ serviceRules: { studentsFromAge: 15 } })
    expect(await misplaced()).toEqual([])
    expect(await whyNot(c, c.people.ana, c.seats.northLead)).toBeNull()
    await set({ serviceRules: { students: 'no' } })
    expect(await misplaced()).toEqual([c.seats.northLead])
    await db().pollWorker.update({
      where: { id: c.people.ana },
      data: { student: false, livesOutside: true },
    })
    expect(await misplaced()).toEqual([])
    await set({ serviceRules: { residents: 'county' } })
    expect(await misplaced()).toEqual([c.seats.northLead])
    expect(await whyNot(c, c.people.ana, c.seats.northLead)).toBe('excluded')

    // By precinct: only at places that serve some; the code as the county writes it, in capitals or not.
    await db().pollWorker.update({ where: { id: c.people.ana }, data: { livesOutside: false } })
    await set({ serviceRules: { residents: 'precinct' } })
    await db().precinct.updateMany({ where: { countyId: c.countyId }, data: { pollingPlaceId: null } })
    expect(await misplaced()).toEqual([])
    expect(await whyNot(c, c.people.ana, c.seats.northLead)).toBeNull()
    await db().precinct.create({
      data: {
        countyId: c.countyId,
        code: 'N-7',
        name: 'N-7',
        registeredVoters: 5,
        lat: 1,
        lon: 1,
        pollingPlaceId: c.places.north,
      },
    })
    expect(await misplaced(), 'no home precinct on record').toEqual([c.seats.northLead])
    expect(await whyNot(c, c.people.ana, c.seats.northLead)).toBe('residence')
    await db().pollWorker.update({ where: { id: c.people.ana }, data: { homePrecinct: 'n-7 ' } })
    expect(await misplaced()).toEqual([])
    expect(await whyNot(c, c.people.ana, c.seats.northLead)).toBeNull()
    await db().pollingPlace.update({ where: { id: c.places.north }, data: { kind: 'voteCentre' } })
    await db().pollWorker.update({ where: { id: c.people.ana }, data: { homePrecinct: 'other' } })
    expect(await misplaced(), 'a vote center serves everybody').toEqual([])
    expect(await whyNot(c, c.people.ana, c.seats.northLead)).toBeNull()
  })
})
