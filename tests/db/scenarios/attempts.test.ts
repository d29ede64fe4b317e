import { beforeAll, describe, expect, it, vi } from 'vitest'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { appendLessonEvents, startLesson } from '@/lib/scenarios/commands'
import { replay } from '@/lib/scenarios/core/replay'
import { getJobAidOrThrow, getLessonAttemptOrThrow, listLessons } from '@/lib/scenarios/queries'
import { useDatabase } from '@/tests/support/database'
import { audit } from '@/tests/support/failing-audit'
import { makeActor, makeCounties, makeWorker, SOUND_LOG } from './people'

vi.mock('@/lib/scenarios/content', async (original) => {
  const { withKeptLesson } = await import('@/tests/db/scenarios/kept-lesson')
  return withKeptLesson(await original<typeof import('@/lib/scenarios/content')>())
})
vi.mock('@/lib/audit/append', async (original) =>
  (await import('@/tests/support/failing-audit')).failing(await original()),
)

useDatabase()

const KEY = 'card-returned'
let actor: Actor
beforeAll(async () => {
  await makeCounties()
})
const begin = async (who?: Actor) => {
  actor = who ?? (await makeWorker())
  return (await startLesson(actor, KEY, 'en')).attemptId
}
const facts = (of: Actor) => db().fact.findMany({ where: { pollWorkerId: of.pollWorkerId as string } })

describe('starting a lesson', () => {
  it('goes on with the unfinished attempt, also when two clicks come at once', async () => {
    const who = await makeWorker()
    const both = await Promise.all([startLesson(who, KEY, 'en'), startLesson(who, KEY, 'en')])
    expect(both[0].attemptId).toBe(both[1].attemptId)
    expect(both.map((b) => b.resumed).sort()).toEqual([false, true])
    const records = await db().auditRecord.findMany({ where: { subject: `attempt:${both[0].attemptId}` } })
    expect(records.map((r) => r.event)).toEqual(['attempt.started'])
  })

  it('keeps the definition once for everybody on the same equipment', async () => {
    const ids = [await begin(), await begin()]
    const rows = await db().attempt.findMany({ where: { id: { in: ids } } })
    expect(rows[0]!.definitionHash).toBe(rows[1]!.definitionHash)
    expect(rows.map((r) => r.equipmentProfile)).toEqual(['fern', 'fern'])
  })

  it('takes the equipment of the person’s seat in the newest published roster', async () => {
    const who = await makeWorker('fennick')
    const workerId = who.pollWorkerId as string
    const place = await db().pollingPlace.create({
      data: {
        countyId: 'fennick',
        code: 'P1',
        name: 'Hall',
        address: '1 Road',
        lat: 0,
        lon: 0,
        kind: 'pollingPlace',
        equipmentProfile: 'moss',
      },
    })
    const position = await db().position.create({
      data: { countyId: 'fennick', key: 'x', nameEn: 'X', nameEs: 'X', rank: 1, certificateKey: 'x' },
    })
    const election = await db().election.create({
      data: { countyId: 'fennick', name: 'E', kind: 'general', heldOn: '2030-11-05' },
    })
    const seat = await db().seat.create({
      data: {
        countyId: 'fennick',
        electionId: election.id,
        pollingPlaceId: place.id,
        positionId: position.id,
        servesOn: '2030-11-05',
        number: 1,
      },
    })
    const roster = await db().roster.create({
      data: { countyId: 'fennick', electionId: election.id, version: 1 },
    })
    await db().seating.create({
      data: {
        countyId: 'fennick',
        rosterId: roster.id,
        seatId: seat.id,
        pollWorkerId: workerId,
        morningOn: '2030-11-05',
        afternoonOn: '2030-11-05',
      },
    })
    const profileOf = async (id: string) =>
      (await db().attempt.findUniqueOrThrow({ where: { id } })).equipmentProfile
    const draft = await begin(who)
    expect(await profileOf(draft)).toBe('fern')
    await appendLessonEvents(who, draft, { from: 0, events: SOUND_LOG })
    await db().roster.update({ where: { id: roster.id }, data: { publishedAt: new Date() } })
    expect(await profileOf(await begin(who))).toBe('moss')
  })

  it('is not there for staff, who have no path of their own', async () => {
    const clerk = await makeActor('countyStaff', 'larkmoor')
    await expect(startLesson(clerk, KEY, 'en')).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await expect(startLesson(await makeWorker(), 'no-such', 'en')).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
  })
})

describe('the log of a lesson', () => {
  it('is stored in parts, once each, and may be sent again', async () => {
    const id = await begin()
    expect(await appendLessonEvents(actor, id, { from: 0, events: SOUND_LOG.slice(0, 3) })).toEqual({
      status: 'stored',
      count: 3,
      finished: false,
    })
    expect(await appendLessonEvents(actor, id, { from: 0, events: SOUND_LOG.slice(0, 3) })).toMatchObject({
      status: 'stored',
      count: 3,
    })
    expect(await appendLessonEvents(actor, id, { from: 1, events: SOUND_LOG.slice(1, 5) })).toMatchObject({
      status: 'stored',
      count: 5,
    })
    expect((await getLessonAttemptOrThrow(actor, id)).events).toEqual(SOUND_LOG.slice(0, 5))
  })

  it('refuses a gap and another history, and tells what is stored', async () => {
    const id = await begin()
    await appendLessonEvents(actor, id, { from: 0, events: SOUND_LOG.slice(0, 2) })
    const stored = { status: 'conflict', count: 2, events: SOUND_LOG.slice(0, 2) }
    expect(await appendLessonEvents(actor, id, { from: 3, events: SOUND_LOG.slice(3, 4) })).toEqual(stored)
    const other = [{ type: 'choose', option: 'take-card' } as const]
    expect(await appendLessonEvents(actor, id, { from: 0, events: other })).toEqual(stored)
    expect((await getLessonAttemptOrThrow(actor, id)).events).toHaveLength(2)
  })

  it('keeps one of two devices’ histories when both send at once', async () => {
    const id = await begin()
    const a = [{ type: 'choose', option: 'ask-near' } as const]
    const b = [{ type: 'choose', option: 'take-card' } as const]
    const answers = await Promise.all(
      [a, b].map((events) => appendLessonEvents(actor, id, { from: 0, events })),
    )
    expect(answers.map((x) => x.status).sort()).toEqual(['conflict', 'stored'])
    expect((await getLessonAttemptOrThrow(actor, id)).events).toHaveLength(1)
  })

  it('is nobody else’s: another person, staff of the county and of another one find nothing', async () => {
    const id = await begin()
    const others = [
      await makeWorker(),
      await makeWorker('fennick'),
      await makeActor('countyStaff', 'larkmoor'),
      await makeActor('countyStaff', 'fennick'),
      await makeActor('administrator', null),
    ]
    for (const other of others) {
      const refused = { code: 'NOT_FOUND' }
      await expect(getLessonAttemptOrThrow(other, id)).rejects.toMatchObject(refused)
      await expect(
        appendLessonEvents(other, id, { from: 0, events: SOUND_LOG.slice(0, 1) }),
      ).rejects.toMatchObject(refused)
    }
    expect(await db().attemptEvent.count({ where: { attemptId: id } })).toBe(0)
  })
})

describe('reaching the end of a lesson', () => {
  it('stores what the replay says, one fact and one record, however often it is sent', async () => {
    const id = await begin()
    // The first answer only works (½), the other six judged steps are sound: (½ + 6) ÷ 7.
    const log = [{ type: 'choose', option: 'call-across' } as const, ...SOUND_LOG.slice(1)]
    for (let i = 0; i < 2; i++)
      expect(await appendLessonEvents(actor, id, { from: 0, events: log })).toEqual({
        status: 'stored',
        count: log.length,
        finished: true,
      })
    const attempt = await db().attempt.findUniqueOrThrow({ where: { id }, include: { definition: true } })
    expect(attempt.scoreFraction).toBeCloseTo(6.5 / 7, 10)
    expect(attempt.finishedAt).not.toBeNull()
    const definition = attempt.definition.definition as never as {
      scenario: Parameters<typeof replay>[0]
      profile: Parameters<typeof replay>[1]
    }
    const again = replay(definition.scenario, definition.profile, log)
    expect(attempt.result).toMatchObject({ scoreFraction: again.scoreFraction, marks: again.marks })
    expect(await facts(actor)).toMatchObject([
      { kind: 'lessonFinished', topic: KEY, onceKey: `attempt:${id}`, equipmentProfile: 'fern' },
    ])
    const records = await db().auditRecord.findMany({ where: { subject: `attempt:${id}` } })
    expect(records.map((r) => r.event)).toEqual(['attempt.started', 'attempt.finished'])
  })

  it('takes nothing more, and the next start is a new attempt', async () => {
    const id = await begin()
    await appendLessonEvents(actor, id, { from: 0, events: SOUND_LOG })
    expect(
      await appendLessonEvents(actor, id, { from: SOUND_LOG.length, events: SOUND_LOG.slice(0, 1) }),
    ).toMatchObject({ status: 'conflict', count: SOUND_LOG.length })
    expect((await startLesson(actor, KEY, 'en')).attemptId).not.toBe(id)
    expect((await listLessons(actor, 'en')).find((l) => l.key === KEY)).toMatchObject({
      timesFinished: 1,
      bestScoreFraction: 1,
      unfinished: true,
    })
  })

  it('leaves nothing behind when it fails half-way', async () => {
    const id = await begin()
    audit.failOn = 'attempt.finished'
    await expect(appendLessonEvents(actor, id, { from: 0, events: SOUND_LOG })).rejects.toThrow('half-way')
    audit.failOn = ''
    expect(await db().attemptEvent.count({ where: { attemptId: id } })).toBe(0)
    expect(await facts(actor)).toEqual([])
    expect(await db().attempt.findUniqueOrThrow({ where: { id } })).toMatchObject({
      finishedAt: null,
      result: null,
    })
  })
})

it('makes the job aid from the lesson in the reader’s language, with the equipment’s words filled in', async () => {
  const who = await makeWorker()
  for (const locale of ['en', 'es'] as const) {
    const aid = await getJobAidOrThrow(who, KEY, locale)
    expect(aid.lines).toHaveLength(6)
    expect(JSON.stringify(aid)).not.toContain('{{')
  }
})
