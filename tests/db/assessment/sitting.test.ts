import { afterEach, beforeAll, describe, expect, it, vi } from 'vitest'
import { advanceStory, closeIfDue, handInQuiz, saveAnswer, startQuiz } from '@/lib/assessment/commands'
import { markSitting, type QuizEvent, type SittingDefinition } from '@/lib/assessment/core/sitting'
import { getQuizOrThrow, getSittingOrThrow, listQuizzes } from '@/lib/assessment/queries'
import { getQuizResultOrThrow } from '@/lib/assessment/queries-result'
import type { Form } from '@/lib/assessment/schema'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { KEPT_LESSON } from '@/tests/db/scenarios/kept-lesson'
import { makeActor, makeCounties, makeWorker, SOUND_LOG } from '@/tests/db/scenarios/people'
import { useDatabase } from '@/tests/support/database'
import { audit } from '@/tests/support/failing-audit'

vi.mock('@/lib/assessment/content', async () => {
  const { SMALL_BANK, SMALL_DESIGN } = await import('./small-quiz')
  return {
    loadBank: () => SMALL_BANK,
    findQuizDesign: (id: string) => (id === 'small' ? SMALL_DESIGN : null),
    listQuizDesigns: () => [SMALL_DESIGN],
  }
})
vi.mock('@/lib/scenarios/content', async (original) => {
  const { withKeptLesson } = await import('@/tests/db/scenarios/kept-lesson')
  return withKeptLesson(await original<typeof import('@/lib/scenarios/content')>())
})
vi.mock('@/lib/audit/append', async (original) =>
  (await import('@/tests/support/failing-audit')).failing(await original()),
)

useDatabase()
beforeAll(makeCounties)
afterEach(() => {
  vi.restoreAllMocks()
})
const at = (instant: Date) => vi.spyOn(systemClock, 'now').mockReturnValue(instant)
const DAY = 24 * 60
const later = (minutes: number) => new Date(Date.now() + minutes * 60_000)

const begin = async (actor: Actor) => (await startQuiz(actor, 'small', 'en')).attemptId
const rowOf = (id: string) => db().attempt.findUniqueOrThrow({ where: { id }, include: { definition: true } })
/** Page of the question whose id begins with a letter: s(ingle), n(umber), o(rder); the story is the fourth page. */
const pageOf = async (id: string, kind: 's' | 'n' | 'o') =>
  ((await rowOf(id)).form as unknown as Form).questionIds.findIndex((q) => q.startsWith(kind)) + 1
const STORY = 4
const save = async (
  actor: Actor,
  id: string,
  kind: 's' | 'n' | 'o',
  fields: { chosen?: string[]; order?: string[]; number?: string },
) => saveAnswer(actor, { attemptId: id, n: await pageOf(id, kind), chosen: [], order: [], ...fields })
const playStory = async (actor: Actor, id: string) => {
  const views = []
  for (const [from, event] of SOUND_LOG.entries())
    views.push(await advanceStory(actor, id, STORY, { from, event, locale: 'en' }))
  return views
}
const answerAll = async (actor: Actor, id: string) => {
  await save(actor, id, 's', { chosen: ['good'] })
  await save(actor, id, 'n', { number: '47' })
  await save(actor, id, 'o', { order: ['one', 'two', 'three'] })
  await playStory(actor, id)
}
const factsOf = (actor: Actor) =>
  db().fact.findMany({ where: { pollWorkerId: actor.pollWorkerId as string } })
const eventsOf = (id: string) => db().auditRecord.findMany({ where: { subject: `attempt:${id}` } })

describe('beginning a quiz', () => {
  it('draws one form however often it is clicked, and keeps what it was drawn from', async () => {
    const actor = await makeWorker()
    const both = await Promise.all([startQuiz(actor, 'small', 'en'), startQuiz(actor, 'small', 'en')])
    expect(both[0]).toEqual(both[1])
    const row = await rowOf(both[0].attemptId)
    const form = row.form as unknown as Form
    expect(form.seed).toBe(row.seed)
    const definition = row.definition.definition as unknown as SittingDefinition
    expect(definition.questions.map((q) => q.id).sort()).toEqual([...form.questionIds].sort())
    expect((await eventsOf(row.id)).map((r) => r.event)).toEqual(['attempt.started'])
  })

  it('gives twenty minutes, and thirty to a person whose time is multiplied by 1.5', async () => {
    for (const [timeMultiplier, minutes] of [
      [1, 20],
      [1.5, 30],
    ] as const) {
      const row = await rowOf(await begin(await makeWorker('larkmoor', { timeMultiplier })))
      expect(row.dueAt!.getTime() - row.startedAt.getTime()).toBe(minutes * 60_000)
    }
  })

  it('is not there for staff, and no quiz is there by another name', async () => {
    await expect(begin(await makeActor('countyStaff', 'larkmoor'))).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    await expect(startQuiz(await makeWorker(), 'other', 'en')).rejects.toMatchObject({ code: 'NOT_FOUND' })
  })
})

describe('answering', () => {
  it('keeps the last answer, takes one back when it is emptied, and writes nothing for the same answer', async () => {
    const actor = await makeWorker()
    const id = await begin(actor)
    const shown = async () => {
      const { question } = await getSittingOrThrow(actor, id, 'en', await pageOf(id, 's'))
      return question?.type === 'question' ? question.chosen : null
    }
    const count = () => db().attemptEvent.count({ where: { attemptId: id } })
    await save(actor, id, 's', { chosen: ['poor'] })
    await save(actor, id, 's', { chosen: ['good'] })
    await save(actor, id, 's', { chosen: ['good'] })
    expect(await shown()).toEqual(['good'])
    expect(await count()).toBe(2)
    await save(actor, id, 's', {})
    expect(await shown()).toEqual([])
    expect(await count()).toBe(3)
  })

  it('refuses what the question doesn’t offer', async () => {
    const actor = await makeWorker()
    const id = await begin(actor)
    const refused = { code: 'INVALID_INPUT' }
    await expect(save(actor, id, 's', { chosen: ['nothing-like-it'] })).rejects.toMatchObject(refused)
    await expect(save(actor, id, 'n', { number: 'many' })).rejects.toMatchObject(refused)
    await expect(save(actor, id, 'o', { order: ['one', 'one', 'two'] })).rejects.toMatchObject(refused)
    await expect(saveAnswer(actor, { attemptId: id, n: 99, chosen: [], order: [] })).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
  })

  it('loses none of many answers that arrive at once', async () => {
    const actor = await makeWorker()
    const id = await begin(actor)
    const kinds = ['s', 'n', 'o'] as const
    await Promise.all([
      save(actor, id, kinds[0], { chosen: ['good'] }),
      save(actor, id, kinds[1], { number: '1,047' }),
      save(actor, id, kinds[2], { order: ['three', 'two', 'one'] }),
    ])
    const sitting = await getSittingOrThrow(actor, id, 'en', null)
    expect(sitting.items.map((item) => item.answered)).toEqual([true, true, true, false])
  })

  it('is nobody else’s business: another person and staff of either county find nothing', async () => {
    const id = await begin(await makeWorker())
    const others = [
      await makeWorker(),
      await makeActor('countyStaff', 'larkmoor'),
      await makeActor('countyStaff', 'fennick'),
      await makeActor('administrator', null),
    ]
    for (const other of others)
      for (const ask of [
        () => getSittingOrThrow(other, id, 'en', 1),
        () => getQuizResultOrThrow(other, id, 'en'),
        () => saveAnswer(other, { attemptId: id, n: 1, chosen: [], order: [] }),
        () => advanceStory(other, id, STORY, { from: 0, event: SOUND_LOG[0]!, locale: 'en' }),
        () => handInQuiz(other, id),
        () => closeIfDue(other, id),
      ])
        await expect(ask()).rejects.toMatchObject({ code: 'NOT_FOUND' })
    expect((await rowOf(id)).finishedAt).toBeNull()
  })
})

describe('the story in a quiz', () => {
  it('answers the same event again with the same view, and refuses a gap and another history', async () => {
    const actor = await makeWorker()
    const id = await begin(actor)
    const step = (from: number, event = SOUND_LOG[from]!) =>
      advanceStory(actor, id, STORY, { from, event, locale: 'en' })
    const first = await step(0)
    expect(first).toMatchObject({ at: 1, finished: false, step: { id: 'stand' } })
    expect(await step(0)).toEqual(first)
    await expect(step(2)).rejects.toMatchObject({ code: 'CONFLICT' })
    await expect(step(0, { type: 'choose', option: 'take-card' })).rejects.toMatchObject({ code: 'CONFLICT' })
    expect(await db().attemptEvent.count({ where: { attemptId: id } })).toBe(1)
  })

  it('says at its end only that it is over', async () => {
    const actor = await makeWorker()
    const id = await begin(actor)
    const last = (await playStory(actor, id)).at(-1)
    expect(last).toMatchObject({ finished: true, step: { kind: 'end', id: 'end' }, texts: {} })
    expect(JSON.stringify(last)).not.toContain('end-well')
  })
})

describe('what goes out before marking', () => {
  it('holds no key, judgement, explanation or source, on any page, at any step, in either language', async () => {
    const actor = await makeWorker()
    const id = await begin(actor)
    const sent: string[] = []
    const look = async () => {
      for (const locale of ['en', 'es'] as const)
        for (const n of [null, 1, 2, 3, STORY])
          sent.push(JSON.stringify(await getSittingOrThrow(actor, id, locale, n)))
    }
    await look()
    await answerAll(actor, id)
    const other = await makeWorker()
    const views = await playStory(other, await begin(other))
    sent.push(...views.map((view) => JSON.stringify(view)))
    await look()
    const all = sent.join('\n')
    expect(all).toContain('Stem s-')
    for (const word of [
      'KEY-EXPLANATION',
      'KEY-SOURCE',
      'common-practice',
      '.why"',
      'judgement',
      'competency',
    ])
      expect(all).not.toContain(word)
    for (const field of ['right', 'critical', 'watch', 'outcomes', 'next', 'effects', 'mood', 'points'])
      expect(all).not.toContain(`"${field}":`)
    for (const locale of ['en', 'es'] as const)
      for (const [key, text] of Object.entries(KEPT_LESSON.texts[locale]))
        if (key.endsWith('.why') || key.startsWith('end-')) expect(all).not.toContain(text.slice(0, 40))
  })

  it('shows of the story no step that was not reached', async () => {
    const actor = await makeWorker()
    const { question } = await getSittingOrThrow(actor, await begin(actor), 'en', STORY)
    if (question?.type !== 'story') throw new Error('the fourth page is the story')
    expect(question.story.scenario.steps.map((s) => s.id)).toEqual(['called'])
    const steps = Object.keys(question.story.texts).filter(
      (key) => !/^(title|summary|job-aid|station)/.test(key),
    )
    expect(steps.every((key) => key.startsWith('called.'))).toBe(true)
  })
})

describe('handing in', () => {
  it('counts once, however often: one result, one fact, one record; the replay gives the stored result', async () => {
    const actor = await makeWorker()
    const id = await begin(actor)
    await answerAll(actor, id)
    await Promise.all([handInQuiz(actor, id), handInQuiz(actor, id)])
    await handInQuiz(actor, id)
    const row = await rowOf(id)
    // Three questions right (3 points) and a story without a fault (2 points): 5 of 5.
    expect(row).toMatchObject({ passed: true, scoreFraction: 1 })
    expect(await factsOf(actor)).toMatchObject([
      { kind: 'quizPassed', topic: 'small', scoreFraction: 1, onceKey: `attempt:${id}` },
    ])
    expect((await eventsOf(id)).map((r) => r.event)).toEqual(['attempt.started', 'attempt.finished'])
    const log = (
      await db().attemptEvent.findMany({ where: { attemptId: id }, orderBy: { sequence: 'asc' } })
    ).map((e) => e.event as unknown as QuizEvent)
    const again = markSitting(
      row.definition.definition as unknown as SittingDefinition,
      row.form as unknown as Form,
      log,
    )
    expect(again).toEqual(row.result)
    expect(await saveAnswer(actor, { attemptId: id, n: 1, chosen: [], order: [] })).toEqual({
      status: 'over',
    })
    await expect(
      advanceStory(actor, id, STORY, { from: 0, event: SOUND_LOG[0]!, locale: 'en' }),
    ).rejects.toMatchObject({ code: 'CONFLICT' })
  })

  it('gives no fact below the cut, and says what was missed, why, and where to practise it', async () => {
    const actor = await makeWorker()
    const id = await begin(actor)
    await save(actor, id, 's', { chosen: ['poor'] })
    await save(actor, id, 'n', { number: '47' })
    // One of three pairs is out of order: (2 − 1) ÷ 3 = 1/3 of the point.
    await save(actor, id, 'o', { order: ['one', 'three', 'two'] })
    await handInQuiz(actor, id)
    const outcome = await getQuizResultOrThrow(actor, id, 'en')
    // 0 + 1 + 1/3 + 0 of 5 points.
    expect(outcome?.scoreFraction).toBeCloseTo(4 / 15, 10)
    expect(outcome).toMatchObject({ passed: false, critical: false })
    const misses = outcome!.misses.map((m) => ({ yours: m.yours, better: m.better, partly: m.partly }))
    expect(misses).toContainEqual({ yours: ['Do nothing'], better: ['Ask first'], partly: false })
    expect(misses).toContainEqual({
      yours: ['1. Stop', '2. Call', '3. Look'],
      better: ['1. Stop', '2. Look', '3. Call'],
      partly: true,
    })
    expect(outcome!.misses).toHaveLength(3)
    expect(outcome!.misses.every((m) => m.lesson?.key === 'card-returned')).toBe(true)
    expect(await factsOf(actor)).toEqual([])
  })

  it('fails with a critical mistake, whatever the score', async () => {
    const actor = await makeWorker()
    const id = await begin(actor)
    await answerAll(actor, id)
    await save(actor, id, 's', { chosen: ['harm'] })
    await handInQuiz(actor, id)
    // 4 of 5 points are above the cut of 70 %.
    expect(await getQuizResultOrThrow(actor, id, 'en')).toMatchObject({
      passed: false,
      scoreFraction: 0.8,
      critical: true,
    })
    expect(await factsOf(actor)).toEqual([])
  })

  it('leaves nothing behind when it fails half-way', async () => {
    const actor = await makeWorker()
    const id = await begin(actor)
    await answerAll(actor, id)
    audit.failOn = 'attempt.finished'
    await expect(handInQuiz(actor, id)).rejects.toThrow('half-way')
    audit.failOn = ''
    expect(await rowOf(id)).toMatchObject({ finishedAt: null, result: null, passed: null })
    expect(await factsOf(actor)).toEqual([])
    await handInQuiz(actor, id)
    expect(await factsOf(actor)).toHaveLength(1)
  })
})

describe('the end of the time', () => {
  it('hands in what there is; nothing is taken after it', async () => {
    const actor = await makeWorker()
    const id = await begin(actor)
    await answerAll(actor, id)
    at(later(19))
    expect(await closeIfDue(actor, id)).toBe(false)
    at(later(21))
    expect(await save(actor, id, 's', { chosen: ['poor'] })).toEqual({ status: 'over' })
    expect(await rowOf(id)).toMatchObject({ passed: true, scoreFraction: 1 })
    expect(await closeIfDue(actor, id)).toBe(true)
    expect(await getQuizResultOrThrow(actor, id, 'en')).toMatchObject({ handedInLate: true })
    expect(await factsOf(actor)).toHaveLength(1)
  })
})

describe('taking the quiz again', () => {
  it('waits a day after a failed try, ends after two, and can be repeated after a pass', async () => {
    const actor = await makeWorker()
    await handInQuiz(actor, await begin(actor))
    expect((await getQuizOrThrow(actor, 'small', 'en')).retry.status).toBe('later')
    await expect(begin(actor)).rejects.toMatchObject({ code: 'CONFLICT' })
    at(later(DAY))
    await handInQuiz(actor, await begin(actor))
    at(later(3 * DAY))
    expect((await getQuizOrThrow(actor, 'small', 'en')).retry).toEqual({ status: 'no-more' })

    vi.restoreAllMocks()
    const passing = await makeWorker()
    const id = await begin(passing)
    await answerAll(passing, id)
    await handInQuiz(passing, id)
    expect(await listQuizzes(passing, 'en')).toMatchObject([{ key: 'small', state: 'passed' }])
    expect((await getQuizOrThrow(passing, 'small', 'en')).retry).toEqual({ status: 'now' })
  })

  it('draws other questions the second time, and still draws when the bank is used up', async () => {
    const actor = await makeWorker()
    const forms: string[][] = []
    for (let round = 0; round < 4; round++) {
      const id = await begin(actor)
      forms.push(((await rowOf(id)).form as unknown as Form).questionIds)
      await answerAll(actor, id)
      await handInQuiz(actor, id)
    }
    // Three questions for each of three cells: three forms without overlap, then the oldest is let go.
    expect(new Set(forms.slice(0, 3).flat()).size).toBe(9)
    expect([...forms[3]!].sort()).toEqual([...forms[0]!].sort())
  })
})
