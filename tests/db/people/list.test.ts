import { randomUUID } from 'node:crypto'
import { describe, expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import type { CivilDate } from '@/lib/kernel/dates'
import { ChangeTogetherInput, changeTogether } from '@/lib/people/commands-together'
import { keepView, removeView } from '@/lib/people/commands-views'
import { type PeopleFilter, readPeopleFilter, searchOf } from '@/lib/people/filter'
import { listPeople, listSavedViews } from '@/lib/people/queries-list'
import { previewTogether } from '@/lib/people/queries-together'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents, HELD_ON, makeSmallCounty, type SmallCounty } from '../roster/support'

useDatabase()

const on = HELD_ON as CivilDate
const names = async (c: SmallCounty, filter: PeopleFilter, actor = c.clerk) =>
  (await listPeople(actor, c.countyId, filter)).people.map((p) => p.givenName)

describe('the filters of the people list', () => {
  it('find people by language, experience, party, part of the day, student and active', async () => {
    const c = await makeSmallCounty()
    const set = (id: string, data: object) => db().pollWorker.update({ where: { id }, data })
    await set(c.people.ana, { languages: ['en', 'es'], electionsServed: 6, party: 'Oak', student: true })
    await set(c.people.ben, { electionsServed: 1, party: 'elm', active: false })
    expect(await names(c, { language: 'es' })).toEqual(['Ana'])
    expect(await names(c, { experience: '3' })).toEqual(['Ana'])
    expect(await names(c, { experience: '1' })).toEqual(['Ana', 'Ben'])
    expect(await names(c, { experience: 'none' })).toEqual(['Cleo', 'Dan', 'Eve'])
    expect(await names(c, { party: 'Elm' })).toEqual(['Ben'])
    expect(await names(c, { party: 'none' })).toEqual(['Cleo', 'Dan', 'Eve'])
    expect(await names(c, { offersShift: 'morning' })).toEqual(['Cleo'])
    expect(await names(c, { student: 'yes' })).toEqual(['Ana'])
    expect(await names(c, { active: 'no' })).toEqual(['Ben'])
    expect((await listPeople(c.clerk, c.countyId, { active: 'yes' })).matching).toBe(4)
  })

  it('leave out who is away or excluded on the day asked for', async () => {
    const c = await makeSmallCounty()
    await db().exclusion.create({
      data: {
        countyId: c.countyId,
        pollWorkerId: c.people.ana,
        kind: 'relative',
        firstOn: '2028-11-01',
        lastOn: HELD_ON,
        recordedBy: randomUUID(),
        recordedAt: new Date(),
      },
    })
    expect(await names(c, { freeOn: on })).toEqual(['Ben', 'Cleo', 'Dan'])
    expect(await names(c, { freeOn: '2028-11-08' as CivilDate })).toEqual([
      'Ana',
      'Ben',
      'Cleo',
      'Dan',
      'Eve',
    ])
  })

  it('find who lives near a place, never by a protected address, and never for those who may not read addresses', async () => {
    const c = await makeSmallCounty()
    // Ana lives at place N, Ben 0.05° of latitude (3.5 miles) south of it, the others 0.1° (6.9 miles).
    expect(await names(c, { near: 'n', withinMiles: 2 })).toEqual(['Ana'])
    expect(await names(c, { near: 'N', withinMiles: 5 })).toEqual(['Ana', 'Ben'])
    expect(await names(c, { near: 'N', withinMiles: 10 })).toHaveLength(5)
    await db().pollWorker.update({ where: { id: c.people.ana }, data: { confidentialAddress: true } })
    expect(await names(c, { near: 'N', withinMiles: 2 })).toEqual([])
    const administrator = actorWith('administrator', c.countyId)
    expect(await names(c, { near: 'N', withinMiles: 2 }, administrator)).toEqual(['Ana'])
    const trainer = actorWith('trainer', c.countyId)
    await expect(names(c, { near: 'N' }, trainer)).rejects.toMatchObject({ code: 'FORBIDDEN' })
    await expect(names(c, { party: 'Oak' }, trainer)).rejects.toMatchObject({ code: 'FORBIDDEN' })
    await expect(names(c, { near: 'no such' })).rejects.toMatchObject({ code: 'INVALID_INPUT' })
  })

  it('read an address line, and leave out what makes no sense there', () => {
    const filter = readPeopleFilter({
      name: ' Ana ',
      on: '2028-02-30',
      free: '2028-02-29',
      within: '3',
      experience: '3',
      active: 'maybe',
      extra: 'x',
    })
    expect(filter).toEqual({ name: 'Ana', freeOn: '2028-02-29', experience: '3' })
    expect(readPeopleFilter(Object.fromEntries(new URLSearchParams(searchOf(filter))))).toEqual(filter)
  })
})

describe('views', () => {
  it('are kept for the account alone, without a searched name', async () => {
    const c = await makeSmallCounty()
    const query = await keepView(c.clerk, {
      countyId: c.countyId,
      name: 'Spanish',
      query: 'name=ana&language=es',
    })
    expect(query).toBe('language=es')
    await keepView(c.clerk, { countyId: c.countyId, name: 'Spanish', query: 'language=es&active=yes' })
    const views = await listSavedViews(c.clerk, c.countyId)
    expect(views).toMatchObject([{ name: 'Spanish', query: 'language=es&active=yes' }])
    const other = actorWith('countyStaff', c.countyId)
    expect(await listSavedViews(other, c.countyId)).toEqual([])
    const remove = (actor: typeof other) => removeView(actor, { countyId: c.countyId, viewId: views[0]!.id })
    await remove(other)
    expect(await listSavedViews(c.clerk, c.countyId)).toHaveLength(1)
    await expect(
      keepView(c.clerk, { countyId: c.countyId, name: 'Nothing', query: 'name=ana' }),
    ).rejects.toMatchObject({ code: 'INVALID_INPUT' })
    await remove(c.clerk)
    expect(await listSavedViews(c.clerk, c.countyId)).toEqual([])
    expect(await auditEvents(c.countyId)).toEqual(['view.kept', 'view.kept', 'view.removed'])
  })
})

describe('a change of many people', () => {
  const parse = (input: object) => ChangeTogetherInput.parse({ except: [], ...input })

  it('is done for exactly those whom the preview showed, less those left out, with one audit record', async () => {
    const c = await makeSmallCounty()
    const preview = await previewTogether(c.clerk, c.countyId, {}, { change: 'away', day: on })
    // Eve is away already.
    expect(preview.affected.map((p) => p.name)).toEqual(['Test, Ana', 'Test, Ben', 'Test, Cleo', 'Test, Dan'])
    expect(preview.matching).toBe(5)
    const done = await changeTogether(
      c.clerk,
      parse({
        countyId: c.countyId,
        query: '',
        token: preview.token,
        change: 'away',
        day: on,
        except: [c.people.dan],
      }),
    )
    expect(done).toBe(3)
    const away = await db().pollWorker.findMany({
      where: { countyId: c.countyId, unavailableOn: { has: on } },
      select: { givenName: true, unavailableOn: true },
      orderBy: { givenName: 'asc' },
    })
    expect(away.map((p) => p.givenName)).toEqual(['Ana', 'Ben', 'Cleo', 'Eve'])
    const records = await db().auditRecord.findMany({ where: { chain: c.countyId } })
    expect(records).toMatchObject([{ event: 'workers.changed-together', detail: { people: 3 } }])
    const back = await previewTogether(c.clerk, c.countyId, { name: 'be' }, { change: 'free', day: on })
    expect(back.affected.map((p) => p.name)).toEqual(['Test, Ben'])
    await changeTogether(
      c.clerk,
      parse({ countyId: c.countyId, query: 'name=be', token: back.token, change: 'free', day: on }),
    )
    expect(await db().pollWorker.findUnique({ where: { id: c.people.ben } })).toMatchObject({
      unavailableOn: [],
    })
  })

  it('is refused when the list is another by now, and then changes nobody', async () => {
    const c = await makeSmallCounty()
    const preview = await previewTogether(c.clerk, c.countyId, {}, { change: 'inactive' })
    await db().pollWorker.update({ where: { id: c.people.ana }, data: { active: false } })
    const input = { countyId: c.countyId, query: '', token: preview.token, change: 'inactive' }
    await expect(changeTogether(c.clerk, parse(input))).rejects.toMatchObject({ code: 'CONFLICT' })
    // The token is for that change alone.
    await expect(changeTogether(c.clerk, parse({ ...input, change: 'active' }))).rejects.toMatchObject({
      code: 'CONFLICT',
    })
    expect(await db().pollWorker.count({ where: { countyId: c.countyId, active: true } })).toBe(4)
    expect(await auditEvents(c.countyId)).toEqual([])
  })

  it('sets the wanted position to one that the county has, for staff of the county alone', async () => {
    const c = await makeSmallCounty()
    const change = { change: 'wants' as const, wantsPositionKey: 'check-in' }
    const preview = await previewTogether(c.clerk, c.countyId, {}, change)
    const input = { countyId: c.countyId, query: '', token: preview.token, ...change }
    for (const [actor, code] of [
      [actorWith('trainer', c.countyId), 'FORBIDDEN'],
      [actorWith('countyStaff', 'elsewhere'), 'NOT_FOUND'],
    ] as const) {
      await expect(changeTogether(actor, parse(input))).rejects.toMatchObject({ code })
      await expect(previewTogether(actor, c.countyId, {}, change)).rejects.toMatchObject({ code })
    }
    await expect(
      changeTogether(c.clerk, parse({ ...input, wantsPositionKey: 'nothing' })),
    ).rejects.toMatchObject({ code: 'INVALID_INPUT' })
    expect(await changeTogether(c.clerk, parse(input))).toBe(5)
    expect(
      await db().pollWorker.count({ where: { countyId: c.countyId, wantsPositionKey: 'check-in' } }),
    ).toBe(5)
  })
})
