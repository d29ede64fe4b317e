import { describe, expect, it } from 'vitest'
import { verifyChain } from '@/lib/audit/verify'
import { db } from '@/lib/db/client'
import { fillRoster } from '@/lib/jobs/fill-roster'
import { lockSeat, publishRoster } from '@/lib/roster/commands'
import { cancelRosterRun, claimRun, requestRosterRun, writeRun } from '@/lib/roster/commands-run'
import { loadRosterGround } from '@/lib/roster/facts'
import { getRuns } from '@/lib/roster/queries'
import { getTrainingList } from '@/lib/roster/queries-papers'
import { useDatabase } from '@/tests/support/database'
import { actorWith, auditEvents, makeSmallCounty, markOf, type SmallCounty, seat, seated } from './support'

useDatabase()

/** Without the two threads, which take a second to start; the first test has them. */
const fillHere = (runId: string, hooks: Parameters<typeof fillRoster>[1] = {}) =>
  fillRoster(runId, { ...hooks, withoutThreads: true })
const ask = async (c: SmallCounty) => (await requestRosterRun(c.clerk, { electionId: c.electionId })).runId

/** Each certificate can be had by one lesson, at any time. */
const addPolicies = async (c: SmallCounty) =>
  db().ruleSet.createMany({
    data: ['lead', 'check-in'].map((certificateKey) => ({
      countyId: c.countyId,
      certificateKey,
      version: 1,
      effectiveFrom: '2024-01-01',
      requirement: {
        kind: 'evidence',
        fact: 'lessonFinished',
        topic: certificateKey,
        window: { kind: 'always' },
        label: { en: `Finish ${certificateKey}`, es: `Termine ${certificateKey}` },
      },
      citation: 'none',
    })),
  })

describe('a run', () => {
  it('fills the most seats by rank with the least travel, says why seats stay empty and whom to train', async () => {
    const c = await makeSmallCounty()
    await addPolicies(c)
    await fillRoster(await ask(c))
    // By hand: Ana is the only lead and lives at the north place's door. Cleo can take the morning only. Ben takes one
    // of the two seats left; both are 5.6 km away. Three seats, 5.6 km.
    const sits = await seated(c.electionId)
    expect(sits[c.seats.northLead]).toBe(c.people.ana)
    expect(sits[c.seats.southMorning]).toBe(c.people.cleo)
    expect(Object.values(sits).sort()).toEqual([c.people.ana, c.people.ben, c.people.cleo].sort())
    const { newest } = await getRuns(c.electionId)
    expect(newest).toMatchObject({
      status: 'done',
      progress: 1,
      outcome: { seats: 5, filled: 3, travelKm: 5.6 },
    })
    expect(newest?.outcome?.proof).toEqual([
      'No roster fills more seats, position by position in their order: this is proven.',
      'No roster that fills as many has less travel: this is proven.',
    ])
    const reasons = newest?.outcome?.empty ?? []
    expect(reasons).toHaveLength(2)
    expect(reasons.find((r) => r.seatId === c.seats.southLead)?.reason).toMatch(/^1 person may sit here/)
    // Dan wants to be lead, lives at the south place and lacks one lesson; with him four of five seats are filled. Nobody
    // is left for the fifth: Eve is away.
    const list = await getTrainingList(c.clerk, c.countyId, c.electionId)
    expect(list).toMatchObject({ filled: 3, filledWithTraining: 4, changedSince: false })
    expect(list.lines).toMatchObject([
      {
        name: 'Dan Test',
        certificateName: 'Lead',
        missing: ['Finish lead'],
        takes: { id: c.seats.southLead },
      },
    ])
    expect(await auditEvents(c.countyId)).toEqual(['roster.run-asked', 'roster.filled'])
    expect((await verifyChain(db(), c.countyId)).status).toBe('whole')
  })

  it('fills the seat of whoever was trained since: the loop closes', async () => {
    const c = await makeSmallCounty()
    await fillHere(await ask(c))
    await db().certificateSpan.create({
      data: {
        countyId: c.countyId,
        pollWorkerId: c.people.dan,
        certificateKey: 'lead',
        validFrom: '2028-10-01',
      },
    })
    await fillHere(await ask(c))
    expect((await seated(c.electionId))[c.seats.southLead]).toBe(c.people.dan)
  })

  it('leaves locked seats as they are and fills around them', async () => {
    const c = await makeSmallCounty()
    await seat(c, c.seats.southLead, c.people.ana)
    await lockSeat(c.clerk, {
      electionId: c.electionId,
      seatId: c.seats.southLead,
      locked: true,
      expected: await markOf(c.electionId),
    })
    await fillHere(await ask(c))
    const sits = await seated(c.electionId)
    expect(sits[c.seats.southLead]).toBe(c.people.ana)
    expect(sits[c.seats.northLead]).toBeUndefined()
    expect(await db().seating.count({ where: { countyId: c.countyId, locked: true } })).toBe(1)
  })

  it('starts a new draft where the roster is published, which stays as it is', async () => {
    const c = await makeSmallCounty()
    await seat(c, c.seats.southLead, c.people.ana)
    await publishRoster(c.clerk, { electionId: c.electionId, expected: await markOf(c.electionId) })
    await fillHere(await ask(c))
    const rosters = await db().roster.findMany({
      where: { electionId: c.electionId },
      orderBy: { version: 'asc' },
      include: { seatings: true },
    })
    expect(rosters.map((r) => [r.version, r.publishedAt !== null, r.seatings.length])).toEqual([
      [1, true, 1],
      [2, false, 3],
    ])
  })
})

describe('a run that must not write', () => {
  it('leaves the roster as it was when its thread dies in mid-solve, and says what to do', async () => {
    const c = await makeSmallCounty()
    await seat(c, c.seats.northCheckIn, c.people.ana)
    const before = await markOf(c.electionId)
    const solveEntry = new URL('../../support/dying-thread.ts', import.meta.url)
    await fillRoster(await ask(c), { solveEntry })
    expect(await seated(c.electionId)).toEqual({ [c.seats.northCheckIn]: c.people.ana })
    expect(await markOf(c.electionId)).toEqual(before)
    const { newest } = await getRuns(c.electionId)
    expect(newest?.status).toBe('failed')
    expect(newest?.failure).toMatch(/^The run failed and nothing was changed\. Start it again/)
  })

  it('ends with a clear message when somebody changed the roster meanwhile', async () => {
    const c = await makeSmallCounty()
    await fillHere(await ask(c), { beforeWrite: () => seat(c, c.seats.northCheckIn, c.people.ana) })
    expect(await seated(c.electionId)).toEqual({ [c.seats.northCheckIn]: c.people.ana })
    expect((await getRuns(c.electionId)).newest).toMatchObject({
      status: 'failed',
      failure: expect.stringMatching(/Somebody changed the roster/),
    })
  })

  it('leaves nothing behind when it fails half-way through writing', async () => {
    const c = await makeSmallCounty()
    await seat(c, c.seats.northCheckIn, c.people.ana)
    const before = [await seated(c.electionId), await markOf(c.electionId), await auditEvents(c.countyId)]
    await fillHere(await ask(c), {
      failInWrite: () => {
        throw new Error('half-way')
      },
    })
    expect([await seated(c.electionId), await markOf(c.electionId)]).toEqual(before.slice(0, 2))
    expect(await auditEvents(c.countyId)).toEqual([...(before[2] as string[]), 'roster.run-asked'])
    expect((await getRuns(c.electionId)).newest?.status).toBe('failed')
  })

  it('is shown as ended when its process is gone, and can then be started again', async () => {
    const c = await makeSmallCounty()
    const runId = await ask(c)
    const ground = await loadRosterGround(c.electionId)
    await claimRun(runId)
    await expect(ask(c)).rejects.toThrow(/already under way/)
    await db().rosterRun.update({
      where: { id: runId },
      data: { heartbeatAt: new Date(Date.now() - 60_000) },
    })
    expect((await getRuns(c.electionId)).newest).toMatchObject({
      status: 'failed',
      failure: expect.stringMatching(/as it was before/),
    })
    await fillHere(await ask(c))
    const filled = await seated(c.electionId)
    expect(Object.keys(filled)).toHaveLength(3)
    // The old process comes back from a long pause: it may no longer write.
    expect(
      await writeRun(runId, ground, { seatings: [] }, () => {
        throw new Error('must not be asked')
      }),
    ).toBe('stopped')
    expect(await seated(c.electionId)).toEqual(filled)
  })

  it('does nothing when the queue delivers it twice', async () => {
    const c = await makeSmallCounty()
    const runId = await ask(c)
    await fillHere(runId)
    const mark = await markOf(c.electionId)
    await fillHere(runId)
    expect(await markOf(c.electionId)).toBe(mark)
    expect(await auditEvents(c.countyId)).toEqual(['roster.run-asked', 'roster.filled'])
  })

  it('is stopped while it waits, and while it works', async () => {
    const c = await makeSmallCounty()
    const waiting = await ask(c)
    await cancelRosterRun(c.clerk, { electionId: c.electionId })
    await fillHere(waiting)
    expect((await getRuns(c.electionId)).newest?.status).toBe('cancelled')
    await fillHere(await ask(c), {
      beforeWrite: () => cancelRosterRun(c.clerk, { electionId: c.electionId }),
    })
    expect((await getRuns(c.electionId)).newest?.status).toBe('cancelled')
    expect(await seated(c.electionId)).toEqual({})
    expect(await auditEvents(c.countyId)).toEqual([
      'roster.run-asked',
      'roster.run-cancelled',
      'roster.run-asked',
      'roster.run-cancelled',
    ])
  })

  it('is refused to whoever may not change rosters; its job is queued only with its row', async () => {
    const c = await makeSmallCounty()
    for (const [actor, code] of [
      [actorWith('trainer', c.countyId), 'FORBIDDEN'],
      [actorWith('countyStaff', 'elsewhere'), 'NOT_FOUND'],
    ] as const) {
      await expect(requestRosterRun(actor, { electionId: c.electionId })).rejects.toMatchObject({ code })
      await expect(cancelRosterRun(actor, { electionId: c.electionId })).rejects.toMatchObject({ code })
    }
    const jobs = () => db().$queryRaw<{ n: number }[]>`
      SELECT count(*)::int AS n FROM graphile_worker.jobs WHERE key = ANY (
        SELECT 'fill-roster:' || id FROM "RosterRun" WHERE "electionId" = ${c.electionId}::uuid)`
    expect((await jobs())[0]?.n).toBe(0)
    await ask(c)
    expect((await jobs())[0]?.n).toBe(1)
  })
})
