import { describe, expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import { getCountyReadiness, listOfficeCounties } from '@/lib/elections/queries'
import type { CivilDate } from '@/lib/kernel/dates'
import { changeOffer, OfferInput } from '@/lib/people/commands'
import { getPerson } from '@/lib/people/queries'
import { listPeople, PEOPLE_PAGE } from '@/lib/people/queries-list'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents, HELD_ON, makeSmallCounty } from '../roster/support'

useDatabase()

const on = HELD_ON as CivilDate

describe('the people of a county', () => {
  it('come in pages by name, each person once, forwards and back', async () => {
    const c = await makeSmallCounty()
    // 130 more, of whom many share a name: the id decides between them.
    await db().pollWorker.createMany({
      data: Array.from({ length: 130 }, (_, i) => ({
        countyId: c.countyId,
        countyRef: `X-${i}`,
        givenName: ['Kim', 'Lee'][i % 2]!,
        familyName: ['Moor', 'de Vale', 'Ash'][i % 3]!,
        languages: [],
        unavailableOn: [],
      })),
    })
    const seen: string[] = []
    let page = await listPeople(c.clerk, c.countyId, {})
    const first = page.people.map((p) => p.id)
    expect(page.previous).toBeNull()
    for (;;) {
      seen.push(...page.people.map((p) => p.id))
      if (!page.next) break
      page = await listPeople(c.clerk, c.countyId, { after: page.next })
    }
    expect(seen).toHaveLength(135)
    expect(new Set(seen).size).toBe(135)
    const back = await listPeople(c.clerk, c.countyId, { before: page.previous! })
    expect(back.people).toHaveLength(PEOPLE_PAGE)
    const start = await listPeople(c.clerk, c.countyId, { before: back.previous! })
    expect(start.people.map((p) => p.id)).toEqual(first)
    expect((await listPeople(c.clerk, c.countyId, { after: 'nonsense' })).people[0]?.id).toBe(first[0])
  })

  it('are found by the beginning of a name, by wish, and by certificate on election day', async () => {
    const c = await makeSmallCounty()
    const names = async (filter: Parameters<typeof listPeople>[2]) =>
      (await listPeople(c.clerk, c.countyId, filter)).people.map((p) => p.givenName)
    expect(await names({ name: 'be' })).toEqual(['Ben'])
    expect(await names({ name: 'test cle' })).toEqual(['Cleo'])
    expect(await names({ name: '%' })).toEqual([])
    // Ben's lead certificate ends on election day itself, so only Ana is lead then.
    expect(await names({ certificateKey: 'lead', certifiedOn: on })).toEqual(['Ana'])
    expect(await names({ certified: 'no', certifiedOn: on })).toEqual(['Dan'])
    expect(await names({ certified: 'no', certificateKey: 'lead', certifiedOn: on })).toEqual([
      'Ben',
      'Cleo',
      'Dan',
      'Eve',
    ])
  })

  it('show party, address and phone only to whom they are open, protected addresses to fewer still', async () => {
    const c = await makeSmallCounty()
    await db().pollWorker.updateMany({
      where: { countyId: c.countyId },
      data: { party: 'A', homeAddress: '1 Way', phone: '5', accommodations: 'chair' },
    })
    await db().pollWorker.update({ where: { id: c.people.ana }, data: { confidentialAddress: true } })
    const see = async (access: 'countyStaff' | 'trainer' | 'administrator', id: string) => {
      const actor = actorWith(access, c.countyId)
      const row = (await listPeople(actor, c.countyId, {})).people.find((p) => p.id === id)!
      const detail = await getPerson(actor, c.countyId, id)
      for (const column of ['party', 'address', 'phone'] as const)
        expect(detail[column], `${access} ${column}`).toEqual(row[column])
      return { party: row.party, address: row.address, phone: row.phone, chair: detail.accommodations }
    }
    expect(await see('countyStaff', c.people.ben)).toEqual({
      party: 'A',
      address: '1 Way',
      phone: '5',
      chair: 'chair',
    })
    expect(await see('countyStaff', c.people.ana)).toEqual({
      party: 'A',
      address: null,
      phone: '5',
      chair: 'chair',
    })
    expect(await see('trainer', c.people.ben)).toEqual({ chair: 'chair' })
    expect(await see('administrator', c.people.ana)).toEqual({ address: '1 Way', phone: '5' })
    await expect(listPeople(actorWith('countyStaff', 'elsewhere'), c.countyId, {})).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    await expect(listPeople(actorWith('pollWorker', c.countyId), c.countyId, {})).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
    const other = await makeSmallCounty()
    await expect(getPerson(c.clerk, c.countyId, other.people.ana)).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
  })

  it('change what they offer, with an audit record that names only what changed', async () => {
    const c = await makeSmallCounty()
    const input = OfferInput.parse({
      countyId: c.countyId,
      workerId: c.people.ben,
      wantsPositionKey: 'lead',
      offersShift: 'morning',
      unavailableOn: '2028-11-07, 2028-11-06',
      maxTravelMiles: '',
      active: 'yes',
    })
    await expect(changeOffer(actorWith('trainer', c.countyId), input)).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
    await changeOffer(c.clerk, input)
    await changeOffer(c.clerk, input)
    expect(await db().pollWorker.findUnique({ where: { id: c.people.ben } })).toMatchObject({
      offersShift: 'morning',
      unavailableOn: ['2028-11-06', '2028-11-07'],
    })
    expect(await auditEvents(c.countyId)).toEqual(['worker.offer-changed'])
    expect(OfferInput.safeParse({ ...input, unavailableOn: '2028-02-30', maxTravelMiles: '' }).success).toBe(
      false,
    )
  })
})

describe('readiness', () => {
  it('counts seats, filled seats and certified people by position, for the counties that one may see', async () => {
    const c = await makeSmallCounty()
    const own = await getCountyReadiness(c.clerk, c.countyId)
    // All five seats are of election day; two of the check-in seats are a morning and an afternoon, so two people at once.
    // Certified on election day: Ana as lead; Ana, Ben, Cleo and Eve for check-in. Two lead seats, three for check-in.
    expect(own.positions.map((p) => [p.key, p.seats, p.filled, p.neededAtOnce, p.certified])).toEqual([
      ['lead', 2, 0, 2, 1],
      ['check-in', 3, 0, 2, 4],
    ])
    expect(own).toMatchObject({ seats: 5, filled: 0, certifiedSeats: 4 })
    expect((await listOfficeCounties(c.clerk)).map((county) => county.id)).toEqual([c.countyId])
    const state = await listOfficeCounties(actorWith('administrator', null))
    expect(state.length).toBeGreaterThan(1)
    expect(await listOfficeCounties(actorWith('trainer', c.countyId))).toEqual([])
  })
})
