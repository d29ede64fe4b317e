import { beforeAll, describe, expect, it, vi } from 'vitest'
import { handInQuiz, startQuiz } from '@/lib/assessment/commands'
import {
  drawPaperForm,
  setDoubleEntry,
  typePaperAnswers,
  withdrawPaperForm,
} from '@/lib/assessment/commands-paper'
import { exposureOf, getQuizOrThrow } from '@/lib/assessment/queries'
import { getPaperFormOrThrow, getPaperPage } from '@/lib/assessment/queries-paper'
import { getQuizResultOrThrow } from '@/lib/assessment/queries-result'
import { readSittings } from '@/lib/assessment/queries-statistics'
import type { Form } from '@/lib/assessment/schema'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { civilDateAt } from '@/lib/kernel/dates'
import { makeActor, makeCounties, makeWorker } from '@/tests/db/scenarios/people'
import { useDatabase } from '@/tests/support/database'

vi.mock('@/lib/assessment/content', async () => {
  const { PAPER_BANK, SMALL_DESIGN } = await import('./small-quiz')
  return {
    loadBank: () => PAPER_BANK,
    findQuizDesign: (id: string) => (id === 'small' ? SMALL_DESIGN : null),
    listQuizDesigns: () => [SMALL_DESIGN],
  }
})
vi.mock('@/lib/scenarios/content', async (original) => {
  const { withKeptLesson } = await import('@/tests/db/scenarios/kept-lesson')
  return withKeptLesson(await original<typeof import('@/lib/scenarios/content')>())
})

useDatabase()
const countyId = 'larkmoor'
const today = civilDateAt(new Date(), 'America/Chicago')
let trainer: Actor
let second: Actor
let clerk: Actor
beforeAll(async () => {
  await makeCounties()
  trainer = await makeActor('trainer', countyId)
  second = await makeActor('trainer', countyId)
  clerk = await makeActor('countyStaff', countyId)
})

const draw = async (worker: Actor, by = trainer) => {
  const { countyRef } = await db().pollWorker.findUniqueOrThrow({ where: { id: worker.pollWorkerId! } })
  return (await drawPaperForm(by, { countyId, quizKey: 'small', countyRef, locale: 'es' })).attemptId
}
/** What stands on the key sheet, but for the changes. */
const type = async (by: Actor, attemptId: string, changes: Record<number, string> = {}) => {
  const { questions } = await getPaperFormOrThrow(trainer, countyId, 'small', attemptId)
  const answers = Object.fromEntries(questions.map((q, i) => [`answer-${i + 1}`, changes[i + 1] ?? q.key]))
  return typePaperAnswers(by, { countyId, attemptId, satOn: today, ...answers })
}
const factsOf = (worker: Actor) => db().fact.findMany({ where: { pollWorkerId: worker.pollWorkerId! } })

describe('a quiz on paper', () => {
  it('is drawn once, without the story, in the person’s language, and nobody sees it on a screen', async () => {
    const worker = await makeWorker()
    const attemptId = await draw(worker)
    expect(await draw(worker)).toBe(attemptId)
    const form = await getPaperFormOrThrow(trainer, countyId, 'small', attemptId)
    expect(form.questions).toHaveLength(5)
    expect(form.questions[0]!.stem).toMatch(/^ES /)
    expect((await getQuizOrThrow(worker, 'small', 'en')).unfinishedAttemptId).toBeNull()
    await expect(handInQuiz(worker, attemptId)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    expect((await startQuiz(worker, 'small', 'en')).attemptId).not.toBe(attemptId)
    await expect(getPaperFormOrThrow(worker, countyId, 'small', attemptId)).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
  })

  it('is marked from one typing, with the same fact as on the screen, dated when it was sat', async () => {
    const worker = await makeWorker()
    const attemptId = await draw(worker)
    expect(await type(trainer, attemptId)).toEqual({ status: 'marked' })
    expect(await factsOf(worker)).toMatchObject([
      {
        kind: 'quizPassed',
        topic: 'small',
        scoreFraction: 1,
        happenedOn: today,
        recordedBy: trainer.accountId,
      },
    ])
    expect(await getQuizResultOrThrow(worker, attemptId, 'en')).toMatchObject({ passed: true, misses: [] })
    await expect(type(trainer, attemptId)).rejects.toMatchObject({ code: 'CONFLICT' })
    const events = await db().auditRecord.findMany({ where: { subject: `attempt:${attemptId}` } })
    expect(events.map((e) => e.event)).toEqual(['paper-form.drawn', 'paper-form.typed', 'attempt.finished'])
  })

  it('gives no fact to who doesn’t pass, and says which field can’t be read', async () => {
    const worker = await makeWorker()
    const attemptId = await draw(worker)
    await expect(type(trainer, attemptId, { 2: 'ZZ' })).rejects.toMatchObject({
      code: 'INVALID_INPUT',
      fields: { 'answer-2': expect.any(String) },
    })
    expect(await db().paperEntry.count({ where: { attemptId } })).toBe(0)
    expect(await type(trainer, attemptId, { 1: '', 2: '', 3: '' })).toEqual({ status: 'marked' })
    expect(await factsOf(worker)).toEqual([])
    const [row] = (await getPaperPage(trainer, countyId, 'small')).rows.filter(
      (r) => r.attemptId === attemptId,
    )
    expect(row).toMatchObject({ passed: false, scoreFraction: 0.4 })
  })

  it('waits, where the county asks for it, until two people’s typings agree', async () => {
    await setDoubleEntry(clerk, { countyId, required: 'yes' })
    const worker = await makeWorker()
    const attemptId = await draw(worker)
    expect(await type(trainer, attemptId)).toEqual({ status: 'second-needed' })
    // The same person twice proves nothing.
    expect(await type(trainer, attemptId)).toEqual({ status: 'second-needed' })
    expect(await getPaperFormOrThrow(trainer, countyId, 'small', attemptId)).toMatchObject({
      typists: 1,
      typedByMe: true,
    })
    expect(await type(second, attemptId, { 2: '' })).toEqual({ status: 'differs', numbers: [2] })
    // What somebody has corrected since counts no more.
    expect(await type(second, attemptId, { 3: '' })).toEqual({ status: 'differs', numbers: [3] })
    expect(await type(trainer, attemptId, { 2: '' })).toEqual({ status: 'differs', numbers: [2, 3] })
    expect(await factsOf(worker)).toEqual([])
    expect(await type(trainer, attemptId)).toEqual({ status: 'differs', numbers: [3] })
    expect(await type(second, attemptId)).toEqual({ status: 'marked' })
    expect(await factsOf(worker)).toHaveLength(1)
    await setDoubleEntry(clerk, { countyId, required: 'no' })
    await expect(setDoubleEntry(trainer, { countyId, required: 'no' })).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
  })

  it('is never handled by the person themselves', async () => {
    const worker = await makeWorker()
    const own = { ...trainer, pollWorkerId: worker.pollWorkerId }
    await expect(draw(worker, own)).rejects.toMatchObject({ code: 'FORBIDDEN' })
    const attemptId = await draw(worker)
    await expect(type(own, attemptId)).rejects.toMatchObject({ code: 'FORBIDDEN' })
  })

  it('is withdrawn with a reason before answers are typed: never marked, no try, and seen all the same', async () => {
    const worker = await makeWorker()
    const attemptId = await draw(worker)
    const questionsOf = async (id: string) =>
      ((await db().attempt.findUniqueOrThrow({ where: { id } })).form as unknown as Form).questionIds
    const seen = await questionsOf(attemptId)
    const before = await exposureOf(db(), 'small')
    const input = { countyId, attemptId, why: 'lost' as const, note: 'left on the bus' }
    await expect(withdrawPaperForm(await makeActor('trainer', 'fennick'), input)).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    await expect(
      withdrawPaperForm({ ...trainer, pollWorkerId: worker.pollWorkerId }, input),
    ).rejects.toMatchObject({ code: 'FORBIDDEN' })
    await withdrawPaperForm(trainer, input)
    await expect(withdrawPaperForm(trainer, input)).rejects.toMatchObject({ code: 'CONFLICT' })
    await expect(type(trainer, attemptId)).rejects.toMatchObject({ code: 'CONFLICT' })
    const { rows } = await getPaperPage(trainer, countyId, 'small')
    expect(rows.at(-1)).toMatchObject({
      attemptId,
      withdrawn: 'the sheet is lost: left on the bus',
      passed: null,
    })
    const [record] = await db().auditRecord.findMany({ where: { event: 'paper-form.withdrawn' } })
    expect(record).toMatchObject({ subject: `attempt:${attemptId}`, detail: { why: 'lost' } })

    // Its questions still count as drawn, in the balance and in the figures.
    expect(await exposureOf(db(), 'small')).toEqual(before)
    expect((await readSittings(countyId, 'small')).unmarked).toContainEqual(seen)
    // No try was used up (two are allowed), and the next form avoids what may be known: of each subject the bank
    // has twice what a form takes, and no overlap is allowed.
    const next = await draw(worker)
    expect(next).not.toBe(attemptId)
    expect((await questionsOf(next)).filter((id) => seen.includes(id))).toEqual([])
    expect(await type(trainer, next)).toEqual({ status: 'marked' })
    expect(await factsOf(worker)).toHaveLength(1)
  })

  it('is not withdrawn once answers of it were typed', async () => {
    await setDoubleEntry(clerk, { countyId, required: 'yes' })
    const attemptId = await draw(await makeWorker())
    expect(await type(trainer, attemptId)).toEqual({ status: 'second-needed' })
    await expect(
      withdrawPaperForm(trainer, { countyId, attemptId, why: 'spoiled', note: '' }),
    ).rejects.toMatchObject({ code: 'CONFLICT' })
    await setDoubleEntry(clerk, { countyId, required: 'no' })
  })
})
