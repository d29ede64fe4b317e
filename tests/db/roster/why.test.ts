/** Why somebody sits here or nowhere, as the office asks it. The small county's fates can be told with a pencil. */
import { describe, expect, it } from 'vitest'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { getWhyPerson } from '@/lib/roster/queries-why'
import { useDatabase } from '@/tests/support/database'
import { actorWith, makeSmallCounty, run, type SmallCounty, seat } from './support'

useDatabase()

const why = (c: SmallCounty, worker: string, place: string | null = null, actor = c.clerk) =>
  getWhyPerson(actor, c.countyId, c.electionId, worker, place)
const filled = async () => {
  const c = await makeSmallCounty()
  await run(c)
  return c
}

describe('why a person sits here or nowhere', () => {
  it('names the seat, or what rules out each of the five seats', async () => {
    const c = await filled()
    expect(await why(c, c.people.ana)).toMatchObject({ reason: 'placed', seated: [{ position: 'Lead' }] })
    expect(await why(c, c.people.dan)).toMatchObject({
      reason: 'not-eligible',
      seats: 5,
      eligibleSeats: 0,
      refused: [{ why: 'certificate', seats: 5 }],
    })
    // Eve holds check-in alone and is away: two lead seats by certificate, three others by that.
    expect((await why(c, c.people.eve)).refused).toEqual([
      { why: 'availability', seats: 3 },
      { why: 'certificate', seats: 2 },
    ])
    await db().pollWorker.update({ where: { id: c.people.eve }, data: { active: false } })
    expect(await why(c, c.people.eve)).toMatchObject({ reason: 'not-active', eligibleSeats: 0 })
  })

  it('tells what bringing somebody to another place would change', async () => {
    const c = await filled()
    const ana = await why(c, c.people.ana)
    const here = ana.seated[0]!.place.startsWith('N') ? c.places.north : c.places.south
    expect((await why(c, c.people.ana, here)).asked).toMatchObject({ outcome: 'here' })
    expect((await why(c, c.people.dan, here)).asked).toMatchObject({ outcome: 'not-eligible' })
    expect((await why(c, c.people.ana, 'elsewhere')).asked).toBeNull()
  })

  it('tells what an exchange does to parties to those alone who may read them', async () => {
    const c = await makeSmallCounty()
    const { people, places, seats } = c
    await db().pollWorker.update({ where: { id: people.cleo }, data: { offersShift: 'full' } })
    await seat(c, seats.northLead, people.ana)
    await seat(c, seats.northCheckIn, people.ben)
    await seat(c, seats.southMorning, people.cleo)
    for (const [id, party] of [
      [people.ana, 'Elm'],
      [people.ben, 'Oak'],
    ] as const)
      await db().pollWorker.update({ where: { id }, data: { party } })
    const wishes = { balance: 'counted', firstParty: 'Elm', secondParty: 'Oak', mostDifference: 0 }
    await db().county.update({ where: { id: c.countyId }, data: { settings: { rosterRules: wishes } } })
    // By hand: Ben changes with Cleo, who is of neither. The north has one of each, and then an Elm too many; the south
    // gets an Oak too many.
    const asked = async (actor: Actor) => (await why(c, people.ben, places.south, actor)).asked
    expect(await asked(c.clerk)).toMatchObject({ outcome: 'exchange', wishes: 2 })
    expect(await asked(actorWith('administrator', c.countyId))).toMatchObject({
      outcome: 'exchange',
      wishes: 0,
    })
  })

  it('tells nobody outside the county, nor how far a protected home is', async () => {
    const c = await filled()
    const stranger = actorWith('countyStaff', 'another')
    await expect(why(c, c.people.ana, null, stranger)).rejects.toThrow()
    await expect(why(c, c.electionId)).rejects.toThrow(/no such person/)
    await db().pollWorker.update({
      where: { id: c.people.ben },
      data: { maxTravelKm: 0.1, confidentialAddress: true },
    })
    const open = await why(c, c.people.ben, null, actorWith('administrator', c.countyId))
    expect(open.refused.map((r) => r.why)).toContain('travel')
    expect((await why(c, c.people.ben)).refused.map((r) => r.why)).not.toContain('travel')
  })
})
