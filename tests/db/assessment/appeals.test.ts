import { beforeAll, describe, expect, it, vi } from 'vitest'
import { handInQuiz, saveAnswer, startQuiz } from '@/lib/assessment/commands'
import { enterAppeal, enterAppealFor, rejectAppeal } from '@/lib/assessment/commands-appeals'
import { orderRemark, type RemarkOrder } from '@/lib/assessment/commands-remark'
import { tellOfRemark } from '@/lib/assessment/commands-tell'
import { stopWork } from '@/lib/assessment/commands-work'
import { getAppealForPage } from '@/lib/assessment/queries-appeal-for'
import { getAppealsPage, getMendPage } from '@/lib/assessment/queries-appeals'
import { getQuizResultOrThrow } from '@/lib/assessment/queries-result'
import type { Form } from '@/lib/assessment/schema'
import { verifyCountyChain } from '@/lib/audit/queries'
import type { Actor } from '@/lib/auth/actor'
import { rebuildSpans } from '@/lib/certification/commands'
import { db } from '@/lib/db/client'
import { remarkQuiz } from '@/lib/jobs/re-mark-quiz'
import { civilDate, civilDateAt } from '@/lib/kernel/dates'
import { makeActor, makeCounties, makeWorker } from '@/tests/db/scenarios/people'
import { useDatabase } from '@/tests/support/database'
import { audit } from '@/tests/support/failing-audit'

/** While true the bank has one single choice alone, so that everybody gets it. */
const bank = vi.hoisted(() => ({ narrow: true }))
vi.mock('@/lib/assessment/content', async () => {
  const { ONE_OF_THREE, SMALL_BANK } = await import('./small-quiz')
  const narrow = new Map([...SMALL_BANK].filter(([id]) => id !== 's-b' && id !== 's-c'))
  return {
    loadBank: () => (bank.narrow ? narrow : SMALL_BANK),
    findQuizDesign: (id: string) => (id === 'small' ? ONE_OF_THREE : null),
    listQuizDesigns: () => [ONE_OF_THREE],
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
const countyId = 'larkmoor'
let clerk: Actor
beforeAll(async () => {
  await makeCounties()
  clerk = await makeActor('countyStaff', countyId)
})

/** Sits the quiz of one single choice, one number and one order (3 points, 70 % to pass: all three right, or two and ⅓).
 *  `chosen`: what is ticked; `number`: what is written. */
async function sit(chosen: string, number: string): Promise<{ worker: Actor; attemptId: string }> {
  const worker = await makeWorker()
  const { attemptId } = await startQuiz(worker, 'small', 'en')
  const { questionIds } = await formOf({ attemptId })
  for (const [i, id] of questionIds.entries()) {
    const kind = id[0]
    await saveAnswer(worker, {
      attemptId,
      n: i + 1,
      chosen: kind === 's' ? [chosen] : [],
      order: kind === 'o' ? ['one', 'two', 'three'] : [],
      ...(kind === 'n' ? { number } : {}),
    })
  }
  await handInQuiz(worker, attemptId)
  return { worker, attemptId }
}
const formOf = async ({ attemptId }: { attemptId: string }) =>
  (await db().attempt.findUniqueOrThrow({ where: { id: attemptId } })).form as unknown as Form
/** The one single choice of a sitting. */
const choiceOf = async (sitting: { attemptId: string }) =>
  (await formOf(sitting)).questionIds.find((id) => id.startsWith('s'))!
const factsOf = async ({ worker }: { worker: Actor }) =>
  (
    await db().fact.findMany({
      where: { pollWorkerId: worker.pollWorkerId! },
      orderBy: { recordedAt: 'asc' },
    })
  ).map((f) => `${f.kind}${f.scoreFraction === null ? '' : ` ${f.scoreFraction.toFixed(2)}`}`)
const resultOf = async ({ attemptId }: { attemptId: string }) => {
  const row = await db().attempt.findUniqueOrThrow({ where: { id: attemptId } })
  return [row.scoreFraction!.toFixed(2), row.passed]
}
/** Orders a re-mark and runs its job; how the work ended. */
async function apply(order: RemarkOrder) {
  const { workId } = await orderRemark(clerk, order)
  await remarkQuiz(workId)
  // A second delivery of the same job does nothing.
  await remarkQuiz(workId)
  const { status } = await db().quizWork.findUniqueOrThrow({ where: { id: workId } })
  return { status }
}
const today = civilDateAt(new Date(), 'America/Chicago')
const questionId = 's-a'
const show = (mend: string) => getMendPage(clerk, countyId, 'small', { questionId, version: 1, mend })

describe('a faulty question', () => {
  it('is appealed against, shown with whose result changes, and re-marked for everybody at once', async () => {
    // 'poor' is marked wrong; with the number wrong too the quiz is not passed.
    const appellant = await sit('poor', '47')
    const good = await sit('good', '47')
    const bad = await sit('poor', '1')
    expect(await resultOf(appellant)).toEqual(['0.67', false])
    expect(await resultOf(good)).toEqual(['1.00', true])
    expect(await resultOf(bad)).toEqual(['0.33', false])

    await expect(
      enterAppeal(good.worker, { attemptId: appellant.attemptId, questionId, text: 'not mine' }),
    ).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await enterAppeal(appellant.worker, {
      attemptId: appellant.attemptId,
      questionId,
      text: 'The manual says so',
    })
    await expect(
      enterAppeal(appellant.worker, { attemptId: appellant.attemptId, questionId, text: 'again' }),
    ).rejects.toMatchObject({ code: 'CONFLICT' })
    const { appeals } = await getAppealsPage(clerk, countyId, 'small')
    expect(appeals).toMatchObject([
      { questionId, given: ['Do nothing'], right: ['Ask first'], decision: null },
    ])

    const { plan } = await show('right-is:poor')
    expect(plan!.attempts).toBe(3)
    const shown = Object.fromEntries(
      plan!.changes.map((c) => [c.attemptId, [c.before.passed, c.after.passed]]),
    )
    expect(shown).toEqual({
      [appellant.attemptId]: [false, true],
      [good.attemptId]: [true, false],
      [bad.attemptId]: [false, false],
    })
    // Looking changed nothing.
    expect(await resultOf(appellant)).toEqual(['0.67', false])

    const input = {
      countyId,
      quizKey: 'small',
      questionId,
      version: 1,
      mend: 'right-is:poor',
      expected: plan!.mark,
      reason: 'The manual was changed in May',
    }
    audit.failOn = 'quiz.re-marked'
    expect((await apply(input)).status).toBe('failed')
    audit.failOn = ''
    expect(await resultOf(appellant)).toEqual(['0.67', false])
    expect(await factsOf(good)).toEqual(['quizPassed 1.00'])

    expect((await getAppealsPage(clerk, countyId, 'small')).work).toMatchObject({
      status: 'failed',
      failure: expect.stringContaining('nothing was changed'),
    })

    await db().quizStatistics.create({
      data: { countyId, quizKey: 'small', computedAt: new Date(), attempts: 3, result: {} },
    })
    expect((await apply(input)).status).toBe('done')
    // Figures of the old results are gone.
    expect(await db().quizStatistics.count()).toBe(0)
    expect(await resultOf(appellant)).toEqual(['1.00', true])
    expect(await resultOf(good)).toEqual(['0.67', false])
    expect(await resultOf(bad)).toEqual(['0.67', false])
    expect(await factsOf(appellant)).toEqual(['quizPassed 1.00'])
    expect(await factsOf(good)).toEqual(['quizPassed 1.00', 'revocation'])
    expect(await factsOf(bad)).toEqual([])
    expect(await rebuildSpans(countyId, { compareOnly: true })).toMatchObject({ changed: 0 })
    const after = await getAppealsPage(clerk, countyId, 'small')
    expect(after.appeals[0]).toMatchObject({ decision: 'upheld', decisionText: input.reason })
    expect(after.remarks).toMatchObject([{ attempts: 3, changed: 3 }])
    const events = await db().auditRecord.findMany({
      where: { event: { in: ['quiz.re-marked', 'attempt.re-marked'] } },
    })
    expect(events).toHaveLength(4)
    expect(await verifyCountyChain(await makeActor('administrator', countyId), countyId)).toMatchObject({
      status: 'whole',
    })
    await expect(orderRemark(clerk, input)).rejects.toMatchObject({ code: 'CONFLICT' })

    bank.narrow = false
    // From now on it is not drawn, and whoever still had it on an open form is marked by the mend.
    const drawn = await Promise.all(
      Array.from({ length: 5 }, async () => startQuiz(await makeWorker(), 'small', 'en')),
    )
    for (const attempt of drawn) expect((await formOf(attempt)).questionIds).not.toContain(questionId)
    const result = await getQuizResultOrThrow(good.worker, good.attemptId, 'en')
    expect(result!.misses).toMatchObject([{ questionId, better: ['Do nothing'] }])
    expect(result!.mended).toMatchObject([
      { why: input.reason, appealed: false, change: { passedBefore: true, passedAfter: false } },
    ])
    const won = await getQuizResultOrThrow(appellant.worker, appellant.attemptId, 'en')
    expect(won!.mended).toMatchObject([
      { appealed: true, change: { passedBefore: false, passedAfter: true, afterFraction: 1 } },
    ])
  })

  it('is not re-marked on a plan that is no longer so', async () => {
    await db().$executeRaw`TRUNCATE "Appeal"`
    const { plan } = await getMendPage(clerk, countyId, 'small', {
      questionId: 's-a',
      version: 1,
      mend: 'leave-out',
    })
    // Already re-marked in the test before: nothing is offered.
    expect(plan).toBeNull()
    const sitting = await sit('poor', '47')
    const id = await choiceOf(sitting)
    const before = await getMendPage(clerk, countyId, 'small', {
      questionId: id,
      version: 1,
      mend: 'leave-out',
    })
    // Left out, two of two points are right.
    expect(before.plan!.changes.map((c) => c.after)).toContainEqual({ scoreFraction: 1, passed: true })
    for (let i = 0; i < 12; i++) await sit('poor', '47')
    const input = {
      countyId,
      quizKey: 'small',
      questionId: id,
      version: 1,
      mend: 'leave-out',
      reason: 'unclear',
    }
    await expect(orderRemark(clerk, { ...input, expected: before.plan!.mark })).rejects.toMatchObject({
      code: 'CONFLICT',
    })
    const now = await getMendPage(clerk, countyId, 'small', { questionId: id, version: 1, mend: 'leave-out' })
    const order = { ...input, expected: now.plan!.mark }
    // Somebody hands in between the order and the job: nothing is changed that wasn't shown.
    const late = await orderRemark(clerk, order)
    await expect(orderRemark(clerk, order)).rejects.toMatchObject({ code: 'CONFLICT' })
    let again: { attemptId: string } | undefined
    do again = await sit('poor', '47')
    while (!(await formOf(again)).questionIds.includes(id))
    await remarkQuiz(late.workId)
    expect((await getAppealsPage(clerk, countyId, 'small')).work).toMatchObject({
      status: 'failed',
      failure: expect.stringContaining('Somebody finished the quiz'),
    })
    expect(await factsOf(sitting)).toEqual([])

    const then = await getMendPage(clerk, countyId, 'small', {
      questionId: id,
      version: 1,
      mend: 'leave-out',
    })
    const fresh = { ...input, expected: then.plan!.mark }
    // Stopped while it waits, it never begins.
    const waiting = await orderRemark(clerk, fresh)
    await stopWork(clerk, { countyId, quizKey: 'small', kind: 'remark' })
    await remarkQuiz(waiting.workId)
    // Stopped while it writes, everything is taken back.
    const { workId } = await orderRemark(clerk, fresh)
    await remarkQuiz(workId, async (stage) => {
      if (stage === 'certificates') await stopWork(clerk, { countyId, quizKey: 'small', kind: 'remark' })
    })
    const ended = await db().quizWork.findMany({ where: { id: { in: [waiting.workId, workId] } } })
    // The newer order took the older one's place.
    expect(ended).toMatchObject([{ id: workId, status: 'cancelled' }])
    expect(await factsOf(sitting)).toEqual([])
    expect(await db().remark.count({ where: { questionId: id } })).toBe(0)

    expect((await apply(fresh)).status).toBe('done')
    expect(await factsOf(sitting)).toEqual(['quizPassed 1.00'])
  })

  it('stands where the county says so, with a reason that the person reads', async () => {
    const sitting = await sit('poor', '47')
    const id = await choiceOf(sitting)
    await enterAppeal(sitting.worker, { attemptId: sitting.attemptId, questionId: id, text: 'I think not' })
    const [appeal] = await db().appeal.findMany({ where: { attemptId: sitting.attemptId } })
    const trainer = await makeActor('trainer', countyId)
    const input = { countyId, appealId: appeal!.id, why: 'the county’s manual, page 4' }
    await expect(rejectAppeal(trainer, input)).rejects.toMatchObject({ code: 'FORBIDDEN' })
    await rejectAppeal(clerk, input)
    await expect(rejectAppeal(clerk, input)).rejects.toMatchObject({ code: 'CONFLICT' })
    const result = await getQuizResultOrThrow(sitting.worker, sitting.attemptId, 'en')
    expect(result!.misses[0]!.appeal).toEqual({ decision: 'rejected', why: 'the county’s manual, page 4' })
    expect(await resultOf(sitting)).toEqual(['0.67', false])
  })
})

describe('an appeal of somebody who uses no screen', () => {
  it('is entered by a trainer, with the day on which it was asked, and decided like any other', async () => {
    const trainer = await makeActor('trainer', countyId)
    const sitting = await sit('poor', '47')
    await db().pollWorker.update({
      where: { id: sitting.worker.pollWorkerId! },
      data: { email: 'cal@example.org', languages: ['en'] },
    })
    const { countyRef } = await db().pollWorker.findUniqueOrThrow({
      where: { id: sitting.worker.pollWorkerId! },
    })
    const find = () => getAppealForPage(trainer, countyId, 'small', { countyRef, attemptId: undefined })
    const id = await choiceOf(sitting)
    const { chosen } = await find()
    expect(chosen).toMatchObject({ attemptId: sitting.attemptId })
    expect(chosen!.questions.find((q) => q.id === id)).toMatchObject({
      given: ['Do nothing'],
      appealed: false,
    })

    const input = {
      countyId,
      attemptId: sitting.attemptId,
      questionId: id,
      askedOn: today,
      text: 'She says so',
    }
    await expect(
      enterAppealFor(trainer, { ...input, askedOn: civilDate('2020-01-01') }),
    ).rejects.toMatchObject({
      code: 'INVALID_INPUT',
      fields: { askedOn: expect.any(String) },
    })
    await expect(enterAppealFor(await makeActor('trainer', 'fennick'), input)).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    await expect(enterAppealFor(trainer, { ...input, countyId: 'fennick' })).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    const own = { ...trainer, pollWorkerId: sitting.worker.pollWorkerId }
    await expect(enterAppealFor(own, input)).rejects.toMatchObject({ code: 'FORBIDDEN' })
    await expect(enterAppealFor(trainer, { ...input, questionId: 'x-x' })).rejects.toMatchObject({
      code: 'NOT_FOUND',
    })
    await enterAppealFor(trainer, input)
    await expect(enterAppealFor(trainer, input)).rejects.toMatchObject({ code: 'CONFLICT' })
    expect((await find()).chosen!.questions.find((q) => q.id === id)!.appealed).toBe(true)

    const appeal = await db().appeal.findFirstOrThrow({ where: { attemptId: sitting.attemptId } })
    expect(appeal).toMatchObject({ askedOn: today, enteredBy: trainer.accountId, decision: null })
    const [record] = await db().auditRecord.findMany({
      where: { event: 'appeal.entered', subject: `attempt:${sitting.attemptId}` },
    })
    expect(record).toMatchObject({ actorAccountId: trainer.accountId, detail: { askedOn: today } })
    await rejectAppeal(clerk, { countyId, appealId: appeal.id, why: 'the manual, page 4' })
    const [told] = await db().outboxMessage.findMany({ where: { toAddress: 'cal@example.org' } })
    expect(told).toMatchObject({ kind: 'appeal-decided' })
    expect(told!.body).toContain('The question stands as it is.\nthe manual, page 4')
    await db().pollWorker.update({ where: { id: sitting.worker.pollWorkerId! }, data: { email: null } })
  })
})

describe('a re-mark', () => {
  it('is told to whom it concerns, each once, in their own language; nobody without an address is written to', async () => {
    bank.narrow = false
    // All other choices turned out faulty in the tests before: everybody gets this one.
    const [en, es] = [await sit('poor', '47'), await sit('poor', '47')]
    const id = await choiceOf(en)
    expect(await choiceOf(es)).toBe(id)
    await sit('poor', '47')
    const mail = (who: { worker: Actor }, email: string, languages: string[]) =>
      db().pollWorker.update({ where: { id: who.worker.pollWorkerId! }, data: { email, languages } })
    await mail(en, 'ann@example.org', ['en'])
    await mail(es, 'bea@example.org', ['es'])
    const { plan } = await getMendPage(clerk, countyId, 'small', {
      questionId: id,
      version: 1,
      mend: 'also-right:poor',
    })
    expect(
      plan!.changes
        .filter((c) => c.mailed)
        .map((c) => c.attemptId)
        .sort(),
    ).toEqual([en.attemptId, es.attemptId].sort())
    const order = {
      countyId,
      quizKey: 'small',
      questionId: id,
      version: 1,
      mend: 'also-right:poor',
      expected: plan!.mark,
      reason: 'both are sound',
    }
    expect((await apply(order)).status).toBe('done')
    const row = await db().remark.findFirstOrThrow({ where: { questionId: id } })
    await tellOfRemark(row.id)
    await tellOfRemark(row.id)
    const sent = await db().outboxMessage.findMany({
      where: { kind: 'quiz-result-changed' },
      orderBy: { toAddress: 'asc' },
    })
    expect(sent.map((m) => [m.toAddress, m.locale])).toEqual([
      ['ann@example.org', 'en'],
      ['bea@example.org', 'es'],
    ])
    expect(sent[0]!.body).toContain('Before: 66 percent')
    expect(sent[0]!.body).toContain('Now: 100 percent')
    expect(sent[0]!.body).toContain('both are sound')
    expect(sent[1]!.body).toContain(`/quiz/result/${es.attemptId}`)
  })
})
