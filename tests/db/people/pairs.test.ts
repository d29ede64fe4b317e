/** Pairs of people to keep together or apart: noting, taking back, and what becomes of them when two records are merged. */
import { randomUUID } from 'node:crypto'
import { describe, expect, it, vi } from 'vitest'
import { db } from '@/lib/db/client'
import { mergePeople, undoMerge } from '@/lib/people/commands-merge'
import { PairInput, pairPeople, takeBackPair } from '@/lib/people/commands-pairs'
import { getHistory } from '@/lib/people/queries-history'
import { exportRecordOf } from '@/lib/record/commands'
import { useDatabase } from '@/tests/support/database'
import { audit } from '@/tests/support/failing-audit'
import { actorWith, auditEvents, makeSmallCounty, type SmallCounty } from '../roster/support'

vi.mock('@/lib/audit/append', async (original) =>
  (await import('@/tests/support/failing-audit')).failing(await original()),
)
useDatabase()

type Kind = 'together' | 'apart'
const input = (c: SmallCounty, workerId: string, otherRef: string, kind: Kind, note = '') =>
  PairInput.parse({ countyId: c.countyId, workerId, otherRef, kind, note })
const pair = (c: SmallCounty, workerId: string, otherRef: string, kind: Kind, note = '') =>
  pairPeople(c.clerk, input(c, workerId, otherRef, kind, note))
const pairsOf = async (c: SmallCounty, id: string) => (await getHistory(c.clerk, c.countyId, id)).pairs!
const openOf = async (c: SmallCounty, id: string) =>
  (await pairsOf(c, id))
    .filter((row) => row.takenBackOn === null)
    .map((row) => `${row.kind} ${row.other.name}`)
    .sort()
const rows = (c: SmallCounty) =>
  db().personPair.findMany({ where: { countyId: c.countyId }, orderBy: { id: 'asc' } })

describe('a pair of people', () => {
  it('is noted once, shown to both with the other’s name, and taken back from either page', async () => {
    const c = await makeSmallCounty()
    const { ana, ben } = c.people
    await pair(c, ana, ' ben ', 'apart', 'Asked for it.')
    expect(await pairsOf(c, ana)).toMatchObject([
      { kind: 'apart', note: 'Asked for it.', takenBackOn: null, other: { id: ben, name: 'Ben Test' } },
    ])
    const [seen] = await pairsOf(c, ben)
    expect(seen!.other).toMatchObject({ id: ana, name: 'Ana Test', countyRef: 'Ana' })
    const back = { countyId: c.countyId, workerId: ben, id: seen!.id }
    // Somebody else's page doesn't take it back.
    await takeBackPair(c.clerk, { ...back, workerId: c.people.cleo })
    expect(await openOf(c, ana)).toEqual(['apart Ben Test'])
    await takeBackPair(c.clerk, back)
    await takeBackPair(c.clerk, back)
    expect((await pairsOf(c, ana))[0]!.takenBackOn).not.toBeNull()
    // Each of the two has both records.
    expect(await auditEvents(c.countyId)).toEqual([
      'worker.paired',
      'worker.paired',
      'worker.pair-taken-back',
      'worker.pair-taken-back',
    ])
    const subjects = await db().auditRecord.findMany({ where: { chain: c.countyId } })
    expect(new Set(subjects.map((record) => record.subject))).toEqual(
      new Set([`worker:${ana}`, `worker:${ben}`]),
    )
    await pair(c, ben, 'Ana', 'together')
    expect(await openOf(c, ana)).toEqual(['together Ben Test'])
  })

  it('is refused twice, in either order and kind, with words that say what stands there', async () => {
    const c = await makeSmallCounty()
    const { ana, ben } = c.people
    await pair(c, ana, 'Ben', 'apart')
    for (const [id, ref] of [
      [ana, 'Ben'],
      [ben, 'Ana'],
    ] as const) {
      await expect(pair(c, id, ref, 'apart')).rejects.toMatchObject({
        code: 'CONFLICT',
        userMessage: expect.stringMatching(/to be kept apart\. Nothing was changed/),
      })
      await expect(pair(c, id, ref, 'together')).rejects.toMatchObject({
        code: 'CONFLICT',
        userMessage: expect.stringMatching(/to be kept apart\. Take that back first/),
      })
    }
    expect(await rows(c)).toHaveLength(1)
  })

  it('is refused with oneself, a stranger, somebody of another county and a merged record', async () => {
    const c = await makeSmallCounty()
    const other = await makeSmallCounty()
    await db().pollWorker.update({ where: { id: other.people.ben }, data: { countyRef: 'X-1' } })
    await db().pollWorker.update({
      where: { id: c.people.dan },
      data: { mergedIntoId: c.people.cleo, active: false },
    })
    for (const [ref, words] of [
      ['Ana', /of this person/],
      ['Zoe', /Nobody in this county/],
      ['X-1', /Nobody in this county/],
      ['Dan', /merged into number Cleo/],
    ] as const)
      await expect(pair(c, c.people.ana, ref, 'apart'), ref).rejects.toMatchObject({
        code: 'INVALID_INPUT',
        fields: { otherRef: expect.stringMatching(words) },
      })
    await expect(pair(c, c.people.dan, 'Ana', 'apart')).rejects.toMatchObject({ code: 'CONFLICT' })
    for (const [field, value] of [
      ['otherRef', ' '],
      ['kind', ''],
      ['note', 'x'.repeat(501)],
    ] as const)
      expect(
        PairInput.safeParse({ ...input(c, c.people.ana, 'Ben', 'apart'), [field]: value }).error?.issues[0],
        field,
      ).toMatchObject({ path: [field] })
    expect(await rows(c)).toEqual([])
  })

  it('is refused by the database itself: open twice in any order, and with oneself', async () => {
    const c = await makeSmallCounty()
    const { ana, ben } = c.people
    const add = (pollWorkerId: string, otherId: string, takenBackAt: Date | null = null) =>
      db().personPair.create({
        data: {
          countyId: c.countyId,
          kind: 'apart',
          recordedBy: randomUUID(),
          recordedAt: new Date(),
          ...{ pollWorkerId, otherId, takenBackAt },
        },
      })
    await add(ana, ben)
    await expect(add(ben, ana)).rejects.toMatchObject({ code: 'P2002' })
    await expect(add(ana, ben)).rejects.toMatchObject({ code: 'P2002' })
    await expect(add(ana, ana)).rejects.toThrow(/PersonPair_of_two/)
    await add(ben, ana, new Date())
    await add(ana, ben, new Date())
  })

  it('is noted once by clerks at the same moment; the others are told what stands there', async () => {
    const c = await makeSmallCounty()
    const { ana, ben } = c.people
    const results = await Promise.allSettled(
      Array.from({ length: 6 }, (_, i) =>
        i % 2 === 0 ? pair(c, ana, 'Ben', 'apart') : pair(c, ben, 'Ana', 'together'),
      ),
    )
    expect(results.filter((r) => r.status === 'fulfilled')).toHaveLength(1)
    for (const r of results)
      if (r.status === 'rejected')
        expect(r.reason).toMatchObject({
          code: 'CONFLICT',
          userMessage: expect.stringMatching(/are noted already/),
        })
    expect(await rows(c)).toHaveLength(1)
    expect(await auditEvents(c.countyId)).toEqual(['worker.paired', 'worker.paired'])
  })

  it('is for the county’s office alone', async () => {
    const c = await makeSmallCounty()
    const asked = input(c, c.people.ana, 'Ben', 'apart')
    for (const [actor, code] of [
      [actorWith('trainer', c.countyId), 'FORBIDDEN'],
      [actorWith('pollWorker', c.countyId), 'FORBIDDEN'],
      [actorWith('countyStaff', 'elsewhere'), 'NOT_FOUND'],
    ] as const) {
      await expect(pairPeople(actor, asked)).rejects.toMatchObject({ code })
      await expect(
        takeBackPair(actor, { countyId: c.countyId, workerId: c.people.ana, id: randomUUID() }),
      ).rejects.toMatchObject({ code })
    }
    await pairPeople(actorWith('administrator', c.countyId), asked)
    const seen = await getHistory(actorWith('trainer', c.countyId), c.countyId, c.people.ana)
    expect(seen).not.toHaveProperty('pairs')
  })

  it('leaves nothing behind when its record can’t be written', async () => {
    const c = await makeSmallCounty()
    try {
      audit.failOn = 'worker.paired'
      await expect(pair(c, c.people.ana, 'Ben', 'apart')).rejects.toThrow('half-way')
      expect(await rows(c)).toEqual([])
      audit.failOn = 'worker.pair-taken-back'
      await pair(c, c.people.ana, 'Ben', 'apart')
      const [row] = await rows(c)
      const back = { countyId: c.countyId, workerId: c.people.ana, id: row!.id }
      await expect(takeBackPair(c.clerk, back)).rejects.toThrow('half-way')
      expect(await openOf(c, c.people.ana)).toEqual(['apart Ben Test'])
    } finally {
      audit.failOn = ''
    }
  })

  it('stands in the record of each of the two, without the other’s name, number or id', async () => {
    const c = await makeSmallCounty()
    const { ana, ben } = c.people
    await db().pollWorker.update({
      where: { id: ben },
      data: { givenName: 'Bartholomew', countyRef: 'K-77' },
    })
    await db().pollWorker.update({ where: { id: ana }, data: { givenName: 'Anastasia', countyRef: 'K-78' } })
    await pair(c, ana, 'K-77', 'apart', 'Asked for it.')
    for (const [own, other, secrets] of [
      [ana, ben, ['Bartholomew', 'K-77']],
      [ben, ana, ['Anastasia', 'K-78']],
    ] as const) {
      const record = await exportRecordOf(c.clerk, c.countyId, own)
      expect(record.parts.pairs).toEqual([
        { kind: 'apart', note: 'Asked for it.', recordedAt: expect.any(String), takenBackAt: null },
      ])
      expect(record.parts.audit.map((row) => row.event)).toContain('worker.paired')
      for (const secret of [other, ...secrets]) expect(JSON.stringify(record)).not.toContain(secret)
    }
  })
})

describe('pairs when two records are merged', () => {
  const merge = (c: SmallCounty, keptId: string, mergedId: string) =>
    mergePeople(c.clerk, { countyId: c.countyId, keptId, mergedId })

  it('go over to the kept record, whichever side names them, and come back when it is undone', async () => {
    const c = await makeSmallCounty()
    const { ana, ben, cleo, dan, eve } = c.people
    await pair(c, ben, 'Cleo', 'apart')
    await pair(c, dan, 'Ben', 'together')
    await pair(c, eve, 'Ben', 'apart')
    const [taken] = await pairsOf(c, eve)
    await takeBackPair(c.clerk, { countyId: c.countyId, workerId: eve, id: taken!.id })
    const before = await rows(c)
    const { mergeId } = await merge(c, ana, ben)
    expect(await openOf(c, ana)).toEqual(['apart Cleo Test', 'together Dan Test'])
    expect(await openOf(c, cleo)).toEqual(['apart Ana Test'])
    expect(await pairsOf(c, eve)).toMatchObject([{ other: { id: ana } }])
    await undoMerge(c.clerk, { countyId: c.countyId, mergeId })
    expect(await rows(c)).toEqual(before)
  })

  it('that both records say stand once, and twice again when it is undone', async () => {
    const c = await makeSmallCounty()
    const { ana, ben, cleo } = c.people
    await pair(c, ana, 'Cleo', 'apart', 'first')
    await pair(c, cleo, 'Ben', 'apart', 'second')
    const before = await rows(c)
    const { mergeId } = await merge(c, ana, ben)
    expect(await openOf(c, ana)).toEqual(['apart Cleo Test'])
    expect(await openOf(c, cleo)).toEqual(['apart Ana Test'])
    await undoMerge(c.clerk, { countyId: c.countyId, mergeId })
    expect(await rows(c)).toEqual(before)
    expect(await openOf(c, cleo)).toEqual(['apart Ana Test', 'apart Ben Test'])
  })

  it('stay taken back when somebody took them back after the merge', async () => {
    const c = await makeSmallCounty()
    const { ana, ben, cleo } = c.people
    await pair(c, ben, 'Cleo', 'apart')
    const { mergeId } = await merge(c, ana, ben)
    const [row] = await pairsOf(c, ana)
    await takeBackPair(c.clerk, { countyId: c.countyId, workerId: ana, id: row!.id })
    await undoMerge(c.clerk, { countyId: c.countyId, mergeId })
    expect(await openOf(c, cleo)).toEqual([])
    expect(await pairsOf(c, ben)).toHaveLength(1)
  })

  it('stand in the way where the records contradict each other or are a pair themselves', async () => {
    const c = await makeSmallCounty()
    const { ana, ben } = c.people
    await pair(c, ana, 'Cleo', 'apart')
    await pair(c, ben, 'Cleo', 'together')
    await expect(merge(c, ana, ben)).rejects.toMatchObject({
      code: 'CONFLICT',
      userMessage: expect.stringMatching(
        /With Cleo Test, one of the two records is to be kept apart, the other to/,
      ),
    })
    await pair(c, ana, 'Eve', 'apart')
    await expect(merge(c, ana, c.people.eve)).rejects.toThrow(/noted as two people to be kept apart/)
    expect(await db().peopleMerge.count({ where: { countyId: c.countyId } })).toBe(0)
    expect(await openOf(c, ana)).toEqual(['apart Cleo Test', 'apart Eve Test'])
  })

  it('of the two records with each other that were taken back stay as they are', async () => {
    const c = await makeSmallCounty()
    const { ana, ben } = c.people
    await pair(c, ana, 'Ben', 'apart')
    const [row] = await rows(c)
    await takeBackPair(c.clerk, { countyId: c.countyId, workerId: ana, id: row!.id })
    const before = await rows(c)
    const { mergeId } = await merge(c, ana, ben)
    expect(await rows(c)).toEqual(before)
    await undoMerge(c.clerk, { countyId: c.countyId, mergeId })
    expect(await rows(c)).toEqual(before)
  })
})
