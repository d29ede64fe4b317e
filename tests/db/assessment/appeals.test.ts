import { beforeAll, describe, expect, it, vi } from 'vitest'
import { handInQuiz, saveAnswer, startQuiz } from '@/lib/assessment/commands'
import { applyRemark, enterAppeal, rejectAppeal } from '@/lib/assessment/commands-appeals'
import { getAppealsPage, getMendPage } from '@/lib/assessment/queries-appeals'
import { getQuizResultOrThrow } from '@/lib/assessment/queries-result'
import type { Form } from '@/lib/assessment/schema'
import type { Actor } from '@/lib/auth/actor'
import { rebuildSpans } from '@/lib/certification/commands'
import { db } from '@/lib/db/client'
import { makeActor, makeCounties, makeWorker } from '@/tests/db/scenarios/people'
import { useDatabase } from '@/tests/support/database'

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
// Lets one test make the audit fail after everything else was written.
const audit = vi.hoisted(() => ({ failOn: '' }))
vi.mock('@/lib/audit/append', async (original) => {
  const real = await original<typeof import('@/lib/audit/append')>()
  return {
    ...real,
    appendAudit: (...args: Parameters<typeof real.appendAudit>) => {
      if (args[2].event === audit.failOn) throw new Error('half-way')
      return real.appendAudit(...args)
    },
  }
})

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
  const { questionIds } = (await db().attempt.findUniqueOrThrow({ where: { id: attemptId } }))
    .form as unknown as Form
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
    await expect(applyRemark(clerk, input)).rejects.toThrow('half-way')
    audit.failOn = ''
    expect(await resultOf(appellant)).toEqual(['0.67', false])
    expect(await factsOf(good)).toEqual(['quizPassed 1.00'])

    expect(await applyRemark(clerk, input)).toEqual({ changed: 3 })
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
    await expect(applyRemark(clerk, input)).rejects.toMatchObject({ code: 'CONFLICT' })

    bank.narrow = false
    // From now on it is not drawn, and whoever still had it on an open form is marked by the mend.
    const drawn = await Promise.all(
      Array.from({ length: 5 }, async () => startQuiz(await makeWorker(), 'small', 'en')),
    )
    for (const { attemptId } of drawn) {
      const { form } = await db().attempt.findUniqueOrThrow({ where: { id: attemptId } })
      expect((form as unknown as Form).questionIds).not.toContain(questionId)
    }
    const result = await getQuizResultOrThrow(good.worker, good.attemptId, 'en')
    expect(result!.misses).toMatchObject([{ questionId, better: ['Do nothing'] }])
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
    const { questionIds } = (await db().attempt.findUniqueOrThrow({ where: { id: sitting.attemptId } }))
      .form as unknown as Form
    const id = questionIds.find((q) => q.startsWith('s'))!
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
    await expect(applyRemark(clerk, { ...input, expected: before.plan!.mark })).rejects.toMatchObject({
      code: 'CONFLICT',
    })
    const now = await getMendPage(clerk, countyId, 'small', { questionId: id, version: 1, mend: 'leave-out' })
    expect((await applyRemark(clerk, { ...input, expected: now.plan!.mark })).changed).toBeGreaterThan(1)
    expect(await factsOf(sitting)).toEqual(['quizPassed 1.00'])
  })

  it('stands where the county says so, with a reason that the person reads', async () => {
    const sitting = await sit('poor', '47')
    const { questionIds } = (await db().attempt.findUniqueOrThrow({ where: { id: sitting.attemptId } }))
      .form as unknown as Form
    const id = questionIds.find((q) => q.startsWith('s'))!
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
