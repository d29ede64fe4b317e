import { describe, expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import {
  addOpening,
  OpeningInput,
  PlaceInput,
  recordSurvey,
  SurveyInput,
  savePlace,
  servePrecinct,
  setEquipment,
} from '@/lib/places/commands'
import { MEASURES } from '@/lib/places/core/access-survey'
import { getPlace, listPlacePage } from '@/lib/places/queries'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents, makeSmallCounty, type SmallCounty } from '../roster/support'

useDatabase()

const input = (c: SmallCounty, more: object = {}) =>
  PlaceInput.parse({
    countyId: c.countyId,
    placeId: '',
    code: 'W',
    name: 'West Hall',
    address: '9 West Road',
    lat: '42.2',
    lon: '-91.1',
    kind: 'voteCentre',
    equipmentProfile: 'fern',
    contactName: 'K. Porter',
    contactPhone: '5',
    keysNote: 'In the box.',
    features: 'downtown, twoFloors',
    ...more,
  })

describe('places', () => {
  it('are made and changed under the county’s own code, each once', async () => {
    const c = await makeSmallCounty()
    const id = await savePlace(c.clerk, input(c))
    expect(await getPlace(c.clerk, c.countyId, id)).toMatchObject({
      name: 'West Hall',
      kind: 'voteCentre',
      features: ['downtown', 'twoFloors'],
      located: true,
    })
    await expect(savePlace(c.clerk, input(c))).rejects.toMatchObject({ code: 'CONFLICT' })
    await savePlace(c.clerk, input(c, { placeId: id, name: 'West Center' }))
    await savePlace(c.clerk, input(c, { placeId: id, name: 'West Center' }))
    const records = await db().auditRecord.findMany({
      where: { chain: c.countyId },
      orderBy: { sequence: 'asc' },
    })
    expect(records.map((r) => r.event)).toEqual(['place.made', 'place.changed'])
    expect(records[1]!.detail).toEqual({ changed: ['name'] })
    for (const more of [{ lat: '' }, { lat: '91' }, { lon: 'west' }, { code: ' ' }])
      expect(() => input(c, more), JSON.stringify(more)).toThrow()
  })

  it('lie near the county’s other places: a longitude without its minus is refused', async () => {
    const c = await makeSmallCounty()
    // 42.2° north, 91.1° east instead of west: 10,600 km away (haversine, worked out apart).
    await expect(savePlace(c.clerk, input(c, { lon: '91.1' }))).rejects.toMatchObject({
      code: 'INVALID_INPUT',
      fields: { lon: expect.stringMatching(/west is negative/) },
    })
    expect(await db().pollingPlace.count({ where: { countyId: c.countyId } })).toBe(2)
    await savePlace(c.clerk, input(c))
  })

  it('are found by name, kind and what they lack', async () => {
    const c = await makeSmallCounty()
    await savePlace(c.clerk, input(c))
    const codes = async (filter: object) =>
      (await listPlacePage(c.clerk, c.countyId, { page: 1, ...filter })).places.map((p) => p.code)
    expect(await codes({})).toEqual(['N', 'S', 'W'])
    expect(await codes({ name: 'west' })).toEqual(['W'])
    expect(await codes({ kind: 'pollingPlace' })).toEqual(['N', 'S'])
    expect(await codes({ lacks: 'contact' })).toEqual(['N', 'S'])
    // By hand: N lies at 42.1, S at 42 degrees north, both at 91 degrees west.
    expect(await codes({ area: [-91, 42, -91, 42.05] })).toEqual(['S'])
    expect((await listPlacePage(c.clerk, c.countyId, { page: 99 })).page).toBe(1)
  })

  it('have hours that don’t overlap, devices by kind, and serve precincts', async () => {
    const c = await makeSmallCounty()
    const at = { countyId: c.countyId, placeId: c.places.north }
    const open = async (firstOn: string, lastOn: string, more: object = {}) =>
      addOpening(
        c.clerk,
        OpeningInput.parse({ ...at, firstOn, lastOn, opensAt: '07:00', closesAt: '20:00', ...more }),
      )
    await open('', '')
    await open('2028-10-30', '2028-11-03')
    await expect(open('2028-11-03', '')).rejects.toMatchObject({ code: 'CONFLICT' })
    await expect(open('', '')).rejects.toMatchObject({ code: 'CONFLICT' })
    await open('2028-11-04', '')
    await expect(open('2028-11-05', '', { closesAt: '06:00' })).rejects.toThrow(/before it opens/)
    await expect(open('2028-11-09', '2028-11-05')).rejects.toThrow(/before the first/)
    await expect(open('', '2028-11-05')).rejects.toThrow(/first day too/)

    const scanners = (count: number) =>
      setEquipment(c.clerk, { ...at, kind: 'scanner', equipmentProfile: 'moss', count })
    await scanners(2)
    await scanners(3)
    await db().precinct.create({
      data: { countyId: c.countyId, code: 'P1', name: 'One', registeredVoters: 900, lat: 42, lon: -91 },
    })
    await db().precinct.updateMany({
      where: { countyId: c.countyId },
      data: { pollingPlaceId: c.places.south },
    })
    expect(await servePrecinct(c.clerk, { ...at, precinctCode: 'p1' })).toBe(
      'Precinct P1 is served here now. S Hall S served it before and serves none any more.',
    )
    expect(await servePrecinct(c.clerk, { ...at, precinctCode: 'p1' })).toMatch(/here already/)
    // The refusal names a code that exists.
    await expect(servePrecinct(c.clerk, { ...at, precinctCode: 'p2' })).rejects.toMatchObject({
      code: 'INVALID_INPUT',
      fields: { precinctCode: expect.stringMatching(/“p2”.*P1 \(One\)/) },
    })
    const place = await getPlace(c.clerk, c.countyId, c.places.north)
    expect(place.openings.map((o) => o.firstOn)).toEqual(['2028-10-30', '2028-11-04', null])
    expect(place.equipment).toMatchObject([{ kind: 'scanner', equipmentProfile: 'moss', count: 3 }])
    expect(place.precincts).toMatchObject([{ code: 'P1' }])
    await scanners(0)
    expect((await getPlace(c.clerk, c.countyId, c.places.north)).equipment).toEqual([])
  })

  it('keep every access survey; the newest counts', async () => {
    const c = await makeSmallCounty()
    const survey = (surveyedOn: string, found: object) =>
      SurveyInput.parse({
        countyId: c.countyId,
        placeId: c.places.north,
        surveyedOn,
        note: '',
        ...Object.fromEntries(MEASURES.map((m) => [m.key, ''])),
        ...found,
      })
    await recordSurvey(c.clerk, survey('2026-03-01', { doorWidth: '30' }))
    await recordSurvey(c.clerk, survey('2026-05-01', { doorWidth: '33.5' }))
    const { survey: newest, surveys } = await getPlace(c.clerk, c.countyId, c.places.north)
    expect(newest?.assessed.find((a) => a.measure.key === 'doorWidth')).toMatchObject({
      value: 33.5,
      verdict: 'meets',
    })
    expect(surveys).toBe(2)
    await expect(recordSurvey(c.clerk, survey('2026-06-01', {}))).rejects.toMatchObject({
      code: 'INVALID_INPUT',
    })
    expect(() => survey('2026-06-01', { doorWidth: 'wide' })).toThrow()
    await expect(recordSurvey(c.clerk, survey('2999-01-01', { doorWidth: '30' }))).rejects.toMatchObject({
      fields: { surveyedOn: expect.stringMatching(/today or an earlier day/) },
    })
    expect(await auditEvents(c.countyId)).toEqual(['place.surveyed', 'place.surveyed'])
  })

  it('are for the county’s office alone', async () => {
    const c = await makeSmallCounty()
    for (const [actor, code] of [
      [actorWith('trainer', c.countyId), 'FORBIDDEN'],
      [actorWith('administrator', c.countyId), 'FORBIDDEN'],
      [actorWith('countyStaff', 'elsewhere'), 'NOT_FOUND'],
    ] as const) {
      await expect(savePlace(actor, input(c))).rejects.toMatchObject({ code })
      await expect(savePlace(actor, input(c, { placeId: c.places.north }))).rejects.toMatchObject({ code })
    }
    const other = await makeSmallCounty()
    await expect(savePlace(c.clerk, input(c, { placeId: other.places.north }))).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    await expect(getPlace(c.clerk, c.countyId, other.places.north)).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    expect(await auditEvents(c.countyId)).toEqual([])
  })
})
