import { readFileSync } from 'node:fs'
import { afterEach, describe, expect, it, vi } from 'vitest'
import type { Actor } from '@/lib/auth/actor'
import { listFacts } from '@/lib/certification/queries'
import { db } from '@/lib/db/client'
import {
  applyImport,
  dropForgotten,
  dropImport,
  receiveImport,
  recheckImport,
  stopImport,
} from '@/lib/exchange/commands'
import type { ImportKind } from '@/lib/exchange/core/fields'
import { getImport, listFindings } from '@/lib/exchange/queries'
import { importFile } from '@/lib/jobs/import-file'
import { systemClock } from '@/lib/kernel/clock'
import { useDatabase } from '@/tests/support/database'
import { MALFORMED_KINDS, malformedFile } from '@/tests/support/malformed-files'
import { workbook } from '@/tests/support/workbook'
import { actorWith, auditEvents, makeSmallCounty } from '../roster/support'

useDatabase()
afterEach(() => vi.restoreAllMocks())

async function* pieces(bytes: Buffer): AsyncGenerator<Uint8Array> {
  for (let i = 0; i < bytes.length; i += 60_000) yield bytes.subarray(i, i + 60_000)
}

const upload = (actor: Actor, countyId: string, kind: ImportKind, file: string | Buffer, more: object = {}) =>
  receiveImport(actor, { countyId, kind, ...more }, 'file', pieces(Buffer.from(file)))

/** Uploads and runs the dry run. */
async function check(
  actor: Actor,
  countyId: string,
  kind: ImportKind,
  file: string | Buffer,
  more: object = {},
) {
  const { importId } = await upload(actor, countyId, kind, file, more)
  await importFile(importId)
  return { importId, countyId, view: await getImport(actor, countyId, importId) }
}

async function apply(actor: Actor, input: { countyId: string; importId: string }) {
  await applyImport(actor, input)
  await importFile(input.importId)
  return getImport(actor, input.countyId, input.importId)
}

const people = (countyId: string) =>
  db().pollWorker.findMany({ where: { countyId }, orderBy: { countyRef: 'asc' } })

const HEAD = 'id,first name,last name,birth year,phone,party,address\n'

describe('an import of people', () => {
  it('shows what it would do, writes it at once, and does nothing the second time', async () => {
    const c = await makeSmallCounty()
    const file = `${HEAD}Ana,Ana,Test,1950,555 010 1111,Maple,1 Hill Rd\n900,Zed,Young,1990,,,\n`
    const first = await check(c.clerk, c.countyId, 'people', file)
    expect(first.view).toMatchObject({
      status: 'checked',
      outcome: { create: 1, change: 1, same: 0, errors: 0 },
    })
    expect((await listFindings(first.importId, 'change', 1)).findings).toMatchObject([
      { row: 2, value: 'Ana', message: 'Changes birth year, telephone, party, address' },
    ])
    expect(await people(c.countyId)).toHaveLength(5)
    expect((await apply(c.clerk, first)).status).toBe('applied')
    const now = await people(c.countyId)
    expect(now).toHaveLength(6)
    expect(now.find((p) => p.countyRef === 'Ana')).toMatchObject({
      id: c.people.ana,
      birthYear: 1950,
      party: 'Maple',
      wantsPositionKey: 'lead',
      homeLat: 42.1,
    })
    expect(now.find((p) => p.countyRef === '900')).toMatchObject({
      givenName: 'Zed',
      active: true,
      offersShift: 'full',
      languages: [],
    })
    // The file and what was found in it are gone; the record tells counts alone.
    expect(await db().importChunk.count({ where: { importId: first.importId } })).toBe(0)
    expect(await db().importFinding.count({ where: { importId: first.importId } })).toBe(0)
    const record = await db().auditRecord.findFirstOrThrow({
      where: { event: 'import.applied', chain: c.countyId },
    })
    expect(record.detail).toEqual({ kind: 'people', created: 1, changed: 1, same: 0 })
    const again = await check(c.clerk, c.countyId, 'people', file)
    expect(again.view.outcome).toMatchObject({ create: 0, change: 0, same: 2 })
    await expect(applyImport(c.clerk, again)).rejects.toThrow(/Nothing in this file is new/)
  })

  it('reads a workbook, and remembers the columns that somebody chose', async () => {
    const c = await makeSmallCounty()
    const rows = [
      ['Nr', 'Who'],
      ['7', 'Lee, Ana'],
    ]
    const first = await check(c.clerk, c.countyId, 'people', await workbook(rows))
    expect(first.view.outcome).toMatchObject({ errors: 2 })
    await recheckImport(c.clerk, { ...first, 'map.countyRef': 'Nr', 'map.fullName': 'Who', 'map.email': '' })
    await importFile(first.importId)
    expect((await getImport(c.clerk, c.countyId, first.importId)).outcome).toMatchObject({
      create: 1,
      errors: 0,
    })
    const second = await check(c.clerk, c.countyId, 'people', await workbook([...rows, ['8', 'Roe, Ben']]))
    expect(second.view.outcome).toMatchObject({
      create: 2,
      errors: 0,
      mapping: { countyRef: 'Nr', fullName: 'Who' },
    })
    await expect(
      recheckImport(c.clerk, { ...second, 'map.countyRef': 'Nr', 'map.fullName': 'Nr' }),
    ).rejects.toThrow(/chosen for two/)
  })

  it('is refused as a whole where one row is wrong', async () => {
    const c = await makeSmallCounty()
    const run = await check(
      c.clerk,
      c.countyId,
      'people',
      `${HEAD}901,Zed,Young,1990,,,\n902,Amy,Old,1700,,,\n`,
    )
    expect(run.view.outcome).toMatchObject({ create: 1, errors: 1 })
    await expect(applyImport(c.clerk, run)).rejects.toThrow(/has errors/)
    expect(await people(c.countyId)).toHaveLength(5)
  })

  it('writes nothing when it fails half-way, is stopped, or the county has changed meanwhile', async () => {
    const c = await makeSmallCounty()
    const run = await check(c.clerk, c.countyId, 'people', `${HEAD}901,Zed,Young,1990,,,\n`)
    const state = () => getImport(c.clerk, c.countyId, run.importId)
    const recheck = async () => {
      await recheckImport(c.clerk, run)
      await importFile(run.importId)
    }
    await applyImport(c.clerk, run)
    await importFile(run.importId, {
      failInWrite: async () => {
        throw new Error('the power went')
      },
    })
    expect(await state()).toMatchObject({
      status: 'failed',
      failure: expect.stringContaining('nothing was changed'),
    })
    expect(await people(c.countyId)).toHaveLength(5)

    await recheck()
    await applyImport(c.clerk, run)
    await importFile(run.importId, { failInWrite: () => stopImport(c.clerk, run) })
    expect((await state()).status).toBe('stopped')
    expect(await people(c.countyId)).toHaveLength(5)

    await recheck()
    await applyImport(c.clerk, run)
    await db().pollWorker.create({
      data: { countyId: c.countyId, countyRef: '901', givenName: 'Zed', familyName: 'Young' },
    })
    await importFile(run.importId)
    expect(await state()).toMatchObject({
      status: 'failed',
      failure: expect.stringContaining('has changed since'),
    })
    expect((await people(c.countyId)).find((p) => p.countyRef === '901')).toMatchObject({ birthYear: null })
    expect(await auditEvents(c.countyId)).not.toContain('import.applied')
  })

  it('does nothing when its job comes twice, and ends at once when it is stopped before it began', async () => {
    const c = await makeSmallCounty()
    const run = await check(c.clerk, c.countyId, 'people', `${HEAD}901,Zed,Young,1990,,,\n`)
    await applyImport(c.clerk, run)
    await Promise.all([importFile(run.importId), importFile(run.importId)])
    expect(await people(c.countyId)).toHaveLength(6)
    const { importId } = await upload(c.clerk, c.countyId, 'people', `${HEAD}902,A,B,1990,,,\n`)
    await stopImport(c.clerk, { countyId: c.countyId, importId })
    await importFile(importId)
    expect((await getImport(c.clerk, c.countyId, importId)).status).toBe('stopped')
    await dropImport(c.clerk, { countyId: c.countyId, importId })
    expect(await db().importChunk.count({ where: { importId } })).toBe(0)
  })

  it('is for county staff of this county alone', async () => {
    const c = await makeSmallCounty()
    const other = await makeSmallCounty()
    for (const access of ['pollWorker', 'trainer', 'administrator'] as const)
      await expect(upload(actorWith(access, c.countyId), c.countyId, 'people', HEAD)).rejects.toMatchObject({
        code: 'FORBIDDEN',
      })
    await expect(upload(other.clerk, c.countyId, 'people', HEAD)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    const run = await check(c.clerk, c.countyId, 'people', `${HEAD}901,Zed,Young,1990,,,\n`)
    for (const act of [applyImport, stopImport, dropImport, recheckImport])
      await expect(
        act(other.clerk, { countyId: other.countyId, importId: run.importId }),
      ).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await expect(getImport(other.clerk, other.countyId, run.importId)).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
  })

  it('is forgotten with its file when nobody came back to it for 30 days', async () => {
    const c = await makeSmallCounty()
    const run = await check(c.clerk, c.countyId, 'people', `${HEAD}901,Zed,Young,1990,,,\n`)
    const daysOn = (days: number) => new Date(run.view.finishedAt!.getTime() + days * 86_400_000)
    await dropForgotten(daysOn(29))
    expect((await getImport(c.clerk, c.countyId, run.importId)).status).toBe('checked')
    expect(await dropForgotten(daysOn(31))).toBeGreaterThanOrEqual(1)
    expect((await getImport(c.clerk, c.countyId, run.importId)).status).toBe('dropped')
    expect(await db().importChunk.count({ where: { importId: run.importId } })).toBe(0)
  })

  it('leaves nothing of an upload that breaks off or is empty', async () => {
    const c = await makeSmallCounty()
    const broken = async function* () {
      yield Buffer.from(HEAD)
      throw new Error('the line went dead')
    }
    await expect(
      receiveImport(c.clerk, { countyId: c.countyId, kind: 'people' }, 'f', broken()),
    ).rejects.toThrow('dead')
    await expect(upload(c.clerk, c.countyId, 'people', '')).rejects.toThrow(/empty/)
    expect(await db().import.count({ where: { countyId: c.countyId } })).toBe(0)
  })
})

describe('an import of places', () => {
  it('brings the VIP sample in whole, and nothing the second time', async () => {
    const c = await makeSmallCounty()
    const feed = readFileSync('tests/reference/vip/sample_feed_v5.2_places_only.xml')
    const run = await check(c.clerk, c.countyId, 'places', feed)
    expect(run.view).toMatchObject({
      status: 'checked',
      outcome: { create: 59, errors: 0, feed: { version: '5.2', counts: { places: 27, precincts: 32 } } },
    })
    expect((await apply(c.clerk, run)).status).toBe('applied')
    const places = await db().pollingPlace.findMany({
      where: { countyId: c.countyId },
      include: { openings: true, precincts: true },
    })
    expect(places).toHaveLength(29)
    expect(places.filter((p) => !p.located).length).toBe(9)
    expect(places.find((p) => p.code === 'pl81273')).toMatchObject({
      kind: 'earlyVotingSite',
      lat: 38.075578,
      openings: { length: 3 },
    })
    expect(places.find((p) => p.code === 'pl81213')!.precincts.map((p) => p.code)).toContain('0304')
    expect((await check(c.clerk, c.countyId, 'places', feed)).view.outcome).toMatchObject({
      create: 0,
      change: 0,
      same: 59,
    })
  })

  it('changes a place and moves a precinct, by their codes', async () => {
    const c = await makeSmallCounty()
    const head = 'code,name,address,lat,lon,precinct,voters\n'
    const one = await check(
      c.clerk,
      c.countyId,
      'places',
      `${head}N,Hall N,N Street,42.1,-91,101,900\nS,Hall S,S Street,42,-91,102,800\n`,
    )
    expect(one.view.outcome).toMatchObject({ create: 2, change: 0, same: 2 })
    await apply(c.clerk, one)
    const two = await check(
      c.clerk,
      c.countyId,
      'places',
      `${head}N,New Hall,N Street,42.1,-91,101,950\nN,New Hall,N Street,42.1,-91,102,800\n`,
    )
    expect(two.view.outcome).toMatchObject({ create: 0, change: 3 })
    await apply(c.clerk, two)
    const place = await db().pollingPlace.findUniqueOrThrow({
      where: { id: c.places.north },
      include: { precincts: { orderBy: { code: 'asc' } } },
    })
    expect(place.name).toBe('New Hall')
    expect(place.precincts.map((p) => [p.code, p.registeredVoters])).toEqual([
      ['101', 950],
      ['102', 800],
    ])
  })
})

describe('an import of a service history', () => {
  it('records each deed once as a fact, and counts elections', async () => {
    vi.spyOn(systemClock, 'now').mockReturnValue(new Date('2028-12-01T12:00:00Z'))
    const c = await makeSmallCounty()
    const file = 'id,date,position\nAna,11/7/2028,Lead\nAna,2026-11-03,Check-in\nBen,2026-11-03,Check-in\n'
    const run = await check(c.clerk, c.countyId, 'service', file)
    expect(run.view.outcome).toMatchObject({ create: 3, errors: 0 })
    expect((await apply(c.clerk, run)).status).toBe('applied')
    const facts = (await listFacts(db(), c.countyId)).get(c.people.ana)!
    expect(facts.map((f) => [f.kind, f.topic, f.on, f.electionId])).toEqual([
      ['served', 'check-in', '2026-11-03', null],
      ['served', 'lead', '2028-11-07', c.electionId],
    ])
    expect(await db().pollWorker.findUniqueOrThrow({ where: { id: c.people.ana } })).toMatchObject({
      electionsServed: 2,
    })
    expect((await check(c.clerk, c.countyId, 'service', file)).view.outcome).toMatchObject({
      create: 0,
      same: 3,
    })
  })
})

describe('an import of a party’s list', () => {
  it('keeps who is named for what and in which rank, by the date of the list', async () => {
    const c = await makeSmallCounty()
    const more = { party: 'Maple', listedOn: '2028-06-01' }
    const run = await check(
      c.clerk,
      c.countyId,
      'nominations',
      'name,position\nAna Test,Lead\n"Test, Ben",Lead\n',
      more,
    )
    expect(run.view.outcome).toMatchObject({ create: 2, errors: 0 })
    await apply(c.clerk, run)
    const ranks = async () =>
      (await db().nomination.findMany({ where: { countyId: c.countyId }, orderBy: { rank: 'asc' } })).map(
        (n) => [n.pollWorkerId, n.rank, n.listedOn, n.party],
      )
    expect(await ranks()).toEqual([
      [c.people.ana, 1, '2028-06-01', 'Maple'],
      [c.people.ben, 2, '2028-06-01', 'Maple'],
    ])
    const turned = await check(
      c.clerk,
      c.countyId,
      'nominations',
      'name,position,rank\nBen Test,Lead,1\nAna Test,Lead,2\n',
      more,
    )
    expect(turned.view.outcome).toMatchObject({ create: 0, change: 2 })
    await apply(c.clerk, turned)
    expect((await ranks()).map(([id]) => id)).toEqual([c.people.ben, c.people.ana])
  })
})

describe('malformed files', () => {
  it('of every kind end in a sentence and leave the county as it was', async () => {
    const c = await makeSmallCounty()
    const image = async () =>
      JSON.stringify([
        await people(c.countyId),
        await db().pollingPlace.findMany({ where: { countyId: c.countyId } }),
        await db().precinct.count({ where: { countyId: c.countyId } }),
      ])
    const before = await image()
    const quiet: string[] = []
    for (let seed = 0; seed < MALFORMED_KINDS.length; seed++) {
      const file = await malformedFile(seed)
      if (file.what === 'thousands of entries') continue
      try {
        const run = await check(c.clerk, c.countyId, file.kind, file.bytes)
        const { status, failure, outcome } = run.view
        if (!(status === 'failed' ? failure : status === 'checked' && outcome!.errors > 0))
          quiet.push(`${file.what}: ${status}`)
        await expect(applyImport(c.clerk, run)).rejects.toMatchObject({ code: 'CONFLICT' })
      } catch (error) {
        if (!/INVALID_INPUT/.test(String(error))) throw error
      }
    }
    expect(quiet).toEqual([])
    expect(await image()).toBe(before)
  })
})
