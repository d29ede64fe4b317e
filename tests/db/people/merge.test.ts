import { randomUUID } from 'node:crypto'
import { describe, expect, it } from 'vitest'
import { verifyChain } from '@/lib/audit/verify'
import { rebuildSpans, recordFact } from '@/lib/certification/commands'
import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { findLikelyPairs } from '@/lib/jobs/likely-pairs'
import { civilDate } from '@/lib/kernel/dates'
import {
  askForPairs,
  mergePeople,
  STAYS,
  sayNotTheSame,
  tablesNamingPeople,
  undoMerge,
} from '@/lib/people/commands-merge'
import { getPerson } from '@/lib/people/queries'
import { getPair, listDuplicates } from '@/lib/people/queries-duplicates'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents, makeSmallCounty, type SmallCounty } from '../roster/support'

useDatabase()

/** A certificate that asks for a class and a check-off: each record of the person has one of the two. */
async function withRule(c: SmallCounty) {
  await db().certificateSpan.deleteMany({ where: { countyId: c.countyId } })
  const leaf = (fact: string, topic: string) => ({
    kind: 'evidence',
    fact,
    topic,
    window: { kind: 'months', months: 24 },
  })
  await db().ruleSet.create({
    data: {
      countyId: c.countyId,
      certificateKey: 'lead',
      version: 1,
      effectiveFrom: '2020-01-01',
      citation: 'none',
      requirement: { kind: 'all', of: [leaf('classAttended', 'lead-class'), leaf('checkOff', 'closing')] },
    },
  })
}

const fact = (
  c: SmallCounty,
  workerId: string,
  kind: 'classAttended' | 'checkOff',
  topic: string,
  on: string,
) =>
  transaction((tx) =>
    recordFact(
      tx,
      { accountId: null, at: new Date() },
      { countyId: c.countyId, workerId, kind, topic, on: civilDate(on) },
    ),
  )

const spans = async (workerId: string) =>
  (
    await db().certificateSpan.findMany({ where: { pollWorkerId: workerId }, orderBy: { validFrom: 'asc' } })
  ).map((s) => [s.certificateKey, s.validFrom, s.validUntil])
/** A row of each table that names a person and is no fact. */
async function oneRowEverywhere(c: SmallCounty, pollWorkerId: string) {
  const of = { countyId: c.countyId, pollWorkerId }
  const by = c.clerk.accountId
  const at = new Date()
  const definition = { hash: `h-${pollWorkerId}`, kind: 'quiz', key: 'opening', definition: {} }
  await db().definitionVersion.create({ data: definition })
  await db().attempt.create({
    data: {
      ...of,
      kind: 'quiz',
      key: 'opening',
      definitionHash: definition.hash,
      equipmentProfile: 'fern',
      locale: 'en',
      seed: 1,
    },
  })
  const when = { startsAt: at, endsAt: at }
  const trainingClass = await db().trainingClass.create({
    data: {
      countyId: c.countyId,
      topic: 'lead-class',
      placeName: 'Hall',
      placeAddress: '1 Street',
      ...when,
      seats: 5,
      trainerName: 'T',
      createdAt: at,
    },
  })
  await db().classBooking.create({ data: { ...of, classId: trainingClass.id, bookedAt: at } })
  const batch = await db().reminderBatch.create({
    data: { countyId: c.countyId, electionId: c.electionId, requestedBy: by, createdAt: at },
  })
  await db().reminder.create({ data: { ...of, batchId: batch.id, channel: 'letter', locale: 'en' } })
  await db().contact.create({ data: { ...of, outcome: 'reached', accountId: by, at } })
  await db().nomination.create({
    data: { ...of, party: 'A', positionKey: 'lead', rank: 1, listedOn: '2028-01-01' },
  })
  await db().exclusion.create({
    data: { ...of, kind: 'relative', firstOn: '2028-01-01', recordedBy: by, recordedAt: at },
  })
  const third = async (countyRef: string) =>
    (
      await db().pollWorker.create({
        data: { countyId: c.countyId, countyRef, givenName: countyRef, familyName: 'Test' },
      })
    ).id
  const pair = { countyId: c.countyId, recordedBy: by, recordedAt: at }
  await db().personPair.createMany({
    data: [
      { ...pair, kind: 'apart', pollWorkerId, otherId: await third('P1') },
      { ...pair, kind: 'together', pollWorkerId: await third('P2'), otherId: pollWorkerId },
    ],
  })
  await db().personNote.create({ data: { ...of, text: 'Prefers calls', accountId: by, at } })
  await db().correctionRequest.create({ data: { ...of, text: 'Another phone', askedAt: at } })
  await db().payEntry.create({
    data: {
      ...of,
      electionId: c.electionId,
      positionKey: 'lead',
      servedOn: '2028-11-07',
      minutes: 60,
      perDayCents: 0,
      perHourCents: 1500,
      amountCents: 1500,
      recordedBy: by,
      recordedAt: at,
    },
  })
  await db().offer.create({ data: { ...of, electionId: c.electionId, seatId: c.seats.southMorning } })
  const draft = await db().roster.create({
    data: { countyId: c.countyId, electionId: c.electionId, version: 1 },
  })
  await db().seating.create({
    data: { ...of, rosterId: draft.id, seatId: c.seats.southMorning, morningOn: '2028-11-07' },
  })
}

const worker = (id: string) => db().pollWorker.findUniqueOrThrow({ where: { id } })

describe('merging two records of one person', () => {
  it('counts the facts of both for the one that is kept, and undone it is as before', async () => {
    const c = await makeSmallCounty()
    await withRule(c)
    const { ana, ben } = c.people
    await fact(c, ana, 'classAttended', 'lead-class', '2026-02-01')
    await fact(c, ben, 'checkOff', 'closing', '2026-03-01')
    expect([await spans(ana), await spans(ben)]).toEqual([[], []])
    const before = [await worker(ana), await worker(ben)]
    const { mergeId } = await mergePeople(c.clerk, {
      countyId: c.countyId,
      keptId: ana,
      mergedId: ben,
      'take.givenName': 'merged',
    })
    // The class of 1 February counts for 24 months, the check-off of 1 March as long: both from 1 March.
    expect(await spans(ana)).toEqual([['lead', '2026-03-01', '2028-02-01']])
    expect(await spans(ben)).toEqual([])
    expect(await worker(ben)).toMatchObject({ mergedIntoId: ana, active: false })
    expect(await worker(ana)).toMatchObject({ givenName: 'Ben', active: true })
    expect((await getPerson(c.clerk, c.countyId, ana)).facts).toHaveLength(2)
    expect((await rebuildSpans(c.countyId, { compareOnly: true })).changed).toBe(0)
    // Something recorded later under the old record counts, too.
    await fact(c, ben, 'classAttended', 'lead-class', '2027-01-01')
    expect(await spans(ana)).toEqual([['lead', '2026-03-01', '2028-03-01']])
    await undoMerge(c.clerk, { countyId: c.countyId, mergeId })
    expect([await worker(ana), await worker(ben)]).toEqual(before)
    expect(await spans(ana)).toEqual([])
    expect(await spans(ben)).toEqual([['lead', '2027-01-01', '2028-03-01']])
    expect((await rebuildSpans(c.countyId, { compareOnly: true })).changed).toBe(0)
    expect(await auditEvents(c.countyId)).toEqual(
      expect.arrayContaining(['people.merged', 'people.merge-undone']),
    )
    expect((await verifyChain(db(), c.countyId)).status).toBe('whole')
  })

  it('moves seats of drafts, attempts and the account, leaves published rosters, and moves them back', async () => {
    const c = await makeSmallCounty()
    const { ana, ben } = c.people
    const old = await db().roster.create({
      data: { countyId: c.countyId, electionId: c.electionId, version: 1 },
    })
    const draft = await db().roster.create({
      data: { countyId: c.countyId, electionId: c.electionId, version: 2 },
    })
    const seat = (
      rosterId: string,
      seatId: string,
      pollWorkerId: string,
      morningOn: string | null,
      afternoonOn: string | null,
    ) =>
      db().seating.create({
        data: { countyId: c.countyId, rosterId, seatId, pollWorkerId, morningOn, afternoonOn },
      })
    // A roster of a day long past stays as it was published.
    await db().seat.update({ where: { id: c.seats.southLead }, data: { servesOn: '2020-11-03' } })
    await seat(old.id, c.seats.southLead, ben, '2020-11-03', '2020-11-03')
    await db().roster.update({ where: { id: old.id }, data: { publishedAt: new Date('2020-10-01') } })
    await seat(draft.id, c.seats.southMorning, ben, '2028-11-07', null)
    await seat(draft.id, c.seats.southAfternoon, ana, null, '2028-11-07')
    const account = await db().account.create({ data: { name: 'Ben', pollWorkerId: ben } })
    const { mergeId } = await mergePeople(c.clerk, { countyId: c.countyId, keptId: ana, mergedId: ben })
    const seats = async (id: string) =>
      (await db().seating.findMany({ where: { pollWorkerId: id } })).map((s) => s.rosterId).sort()
    expect(await seats(ana)).toEqual([draft.id, draft.id])
    expect(await seats(ben)).toEqual([old.id])
    expect((await db().account.findUniqueOrThrow({ where: { id: account.id } })).pollWorkerId).toBe(ana)
    await undoMerge(c.clerk, { countyId: c.countyId, mergeId })
    expect(await seats(ana)).toEqual([draft.id])
    expect(await seats(ben)).toEqual([draft.id, old.id].sort())
    expect((await db().account.findUniqueOrThrow({ where: { id: account.id } })).pollWorkerId).toBe(ben)
    await expect(undoMerge(c.clerk, { countyId: c.countyId, mergeId })).rejects.toMatchObject({
      code: 'CONFLICT',
    })
  })

  it('moves whatever else names the person, table by table, and moves it back', async () => {
    const c = await makeSmallCounty()
    const { ana, ben } = c.people
    await oneRowEverywhere(c, ben)
    const tables = (await tablesNamingPeople(db())).filter(({ table }) => !STAYS.includes(table))
    const counts = async (id: string) =>
      Object.fromEntries(
        await Promise.all(
          tables.map(async ({ table, column }) => {
            const [row] = await db().$queryRawUnsafe<{ n: number }[]>(
              `SELECT count(*)::int AS n FROM "${table}" WHERE "${column}" = $1::uuid`,
              id,
            )
            return [`${table}.${column}`, row!.n] as const
          }),
        ),
      )
    const none = Object.fromEntries(tables.map(({ table, column }) => [`${table}.${column}`, 0]))
    const one = Object.fromEntries(tables.map(({ table, column }) => [`${table}.${column}`, 1]))
    // A new table that names people needs a row in oneRowEverywhere.
    expect([await counts(ana), await counts(ben)]).toEqual([none, one])
    const { mergeId } = await mergePeople(c.clerk, { countyId: c.countyId, keptId: ana, mergedId: ben })
    expect([await counts(ana), await counts(ben)]).toEqual([one, none])
    await undoMerge(c.clerk, { countyId: c.countyId, mergeId })
    expect([await counts(ana), await counts(ben)]).toEqual([none, one])
  })

  it('keeps days away and extra time that either record says, and takes them back with the merge', async () => {
    const c = await makeSmallCounty()
    const { ana, ben } = c.people
    await db().pollWorker.update({
      where: { id: ana },
      data: { unavailableOn: ['2028-11-07', '2028-06-06'] },
    })
    await db().pollWorker.update({
      where: { id: ben },
      data: { unavailableOn: ['2028-03-07', '2028-11-07'], timeMultiplier: 1.5, student: true },
    })
    const before = await worker(ana)
    const { mergeId } = await mergePeople(c.clerk, {
      countyId: c.countyId,
      keptId: ana,
      mergedId: ben,
      'take.student': 'merged',
    })
    expect(await worker(ana)).toMatchObject({
      unavailableOn: ['2028-03-07', '2028-06-06', '2028-11-07'],
      timeMultiplier: 1.5,
      student: true,
    })
    await undoMerge(c.clerk, { countyId: c.countyId, mergeId })
    expect(await worker(ana)).toEqual(before)
  })

  it('is refused where both sit at one time, or the other sits in a roster that is published and to come', async () => {
    const c = await makeSmallCounty()
    const { ana, ben } = c.people
    const draft = await db().roster.create({
      data: { countyId: c.countyId, electionId: c.electionId, version: 1 },
    })
    for (const [pollWorkerId, seatId] of [
      [ana, c.seats.northLead],
      [ben, c.seats.southMorning],
    ] as const)
      await db().seating.create({
        data: { countyId: c.countyId, rosterId: draft.id, seatId, pollWorkerId, morningOn: '2028-11-07' },
      })
    const pair = { countyId: c.countyId, keptId: ana, mergedId: ben }
    await expect(mergePeople(c.clerk, pair)).rejects.toThrow(/Both records have a seat/)
    await db().roster.update({ where: { id: draft.id }, data: { publishedAt: new Date() } })
    await expect(mergePeople(c.clerk, pair)).rejects.toThrow(/published roster for 2028-11-07/)
    expect(await db().peopleMerge.count({ where: { countyId: c.countyId } })).toBe(0)
    expect((await worker(ben)).mergedIntoId).toBeNull()
  })

  it('keeps an address confidential that either record keeps so', async () => {
    const c = await makeSmallCounty()
    await db().pollWorker.update({ where: { id: c.people.ben }, data: { confidentialAddress: true } })
    await mergePeople(c.clerk, { countyId: c.countyId, keptId: c.people.ana, mergedId: c.people.ben })
    expect((await worker(c.people.ana)).confidentialAddress).toBe(true)
  })

  it('is for county staff of this county, and for two records that are not merged yet', async () => {
    const c = await makeSmallCounty()
    const other = await makeSmallCounty()
    const pair = { countyId: c.countyId, keptId: c.people.ana, mergedId: c.people.ben }
    await expect(mergePeople(actorWith('trainer', c.countyId), pair)).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
    await expect(mergePeople(other.clerk, pair)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await expect(mergePeople(other.clerk, { ...pair, countyId: other.countyId })).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    await expect(mergePeople(c.clerk, { ...pair, mergedId: pair.keptId })).rejects.toMatchObject({
      code: 'INVALID_INPUT',
    })
    await mergePeople(c.clerk, pair)
    await expect(mergePeople(c.clerk, pair)).rejects.toMatchObject({ code: 'CONFLICT' })
  })

  it('follows a chain of merges, which is undone from its end', async () => {
    const c = await makeSmallCounty()
    const { ana, ben, cleo } = c.people
    await withRule(c)
    await fact(c, cleo, 'classAttended', 'lead-class', '2026-02-01')
    await fact(c, ben, 'checkOff', 'closing', '2026-02-01')
    const first = await mergePeople(c.clerk, { countyId: c.countyId, keptId: ben, mergedId: cleo })
    await mergePeople(c.clerk, { countyId: c.countyId, keptId: ana, mergedId: ben })
    expect(await spans(ana)).toEqual([['lead', '2026-02-01', '2028-02-01']])
    await expect(undoMerge(c.clerk, { countyId: c.countyId, mergeId: first.mergeId })).rejects.toThrow(
      /Undo that merge first/,
    )
  })

  it('knows every table that names a person: each can be moved by its id, or is named as staying', async () => {
    const tables = await tablesNamingPeople(db())
    expect(tables.map((t) => t.table)).toEqual(expect.arrayContaining(STAYS))
    for (const { table } of tables.filter((t) => !STAYS.includes(t.table)))
      await db().$queryRawUnsafe(`SELECT id FROM "${table}" WHERE id = $1::uuid`, randomUUID())
  })
})

describe('likely pairs of a county', () => {
  it('are found by the job, told apart by staff, and gone when merged', async () => {
    const c = await makeSmallCounty()
    const twin = (of: string, countyRef: string) =>
      db().pollWorker.create({
        data: { countyId: c.countyId, countyRef, givenName: of, familyName: 'Tset', birthYear: 1950 },
      })
    await db().pollWorker.updateMany({ where: { countyId: c.countyId }, data: { birthYear: 1950 } })
    const [ana2, ben2] = [await twin('Ana', 'A2'), await twin('Ben', 'B2')]
    await askForPairs(c.clerk, c)
    await findLikelyPairs(c.countyId)
    const list = () => listDuplicates(c.clerk, c.countyId)
    const found = await list()
    expect(found.pairs.map((p) => [p.first.countyRef, p.second.countyRef].sort())).toEqual(
      expect.arrayContaining([
        ['A2', 'Ana'],
        ['B2', 'Ben'],
      ]),
    )
    const open = found.open
    await sayNotTheSame(c.clerk, { countyId: c.countyId, keptId: ben2.id, mergedId: c.people.ben })
    expect((await list()).open).toBe(open - 1)
    await mergePeople(c.clerk, { countyId: c.countyId, keptId: c.people.ana, mergedId: ana2.id })
    const after = await list()
    expect(after.open).toBeLessThan(open - 1)
    expect(after.merges[0]).toMatchObject({
      kept: { countyRef: 'Ana' },
      merged: { countyRef: 'A2' },
      undoneAt: null,
    })
    await expect(listDuplicates(actorWith('trainer', c.countyId), c.countyId)).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
  })

  it('show side by side what the reader may read, and no confidential address', async () => {
    const c = await makeSmallCounty()
    await db().pollWorker.update({
      where: { id: c.people.ana },
      data: { confidentialAddress: true, homeAddress: '1 Secret Ln' },
    })
    const [ana, ben] = await getPair(c.clerk, c.countyId, [c.people.ana, c.people.ben])
    expect(ana).toMatchObject({ addressProtected: true, values: { homeAddress: null, givenName: 'Ana' } })
    expect(ben.addressProtected).toBe(false)
  })
})
