import { beforeAll, describe, expect, it, vi } from 'vitest'
import { handInQuiz, startQuiz } from '@/lib/assessment/commands'
import { askForStatistics } from '@/lib/assessment/commands-statistics'
import { stopWork } from '@/lib/assessment/commands-work'
import { getQuizFigures } from '@/lib/assessment/queries-statistics'
import { getWorkState } from '@/lib/assessment/queries-work'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { computeStatistics } from '@/lib/jobs/quiz-statistics'
import { makeActor, makeCounties, makeWorker } from '@/tests/db/scenarios/people'
import { useDatabase } from '@/tests/support/database'

vi.mock('@/lib/assessment/content', async () => {
  const { ONE_OF_THREE, SMALL_BANK } = await import('./small-quiz')
  return {
    loadBank: () => SMALL_BANK,
    findQuizDesign: (id: string) => (id === 'small' ? ONE_OF_THREE : null),
    listQuizDesigns: () => [ONE_OF_THREE],
  }
})

useDatabase()
const countyId = 'larkmoor'
const DYING = new URL('../../support/dying-thread.ts', import.meta.url)
const ENDLESS = new URL('../../support/endless-thread.ts', import.meta.url)
let trainer: Actor
beforeAll(async () => {
  await makeCounties()
  trainer = await makeActor('trainer', countyId)
})

const sit = async () => {
  const worker = await makeWorker()
  const { attemptId } = await startQuiz(worker, 'small', 'en')
  await handInQuiz(worker, attemptId)
  return attemptId
}
/** The same sitting often enough for a thread of its own. */
const sitOften = (attemptId: string) => db().$executeRaw`
  INSERT INTO "Attempt" (id, "countyId", "pollWorkerId", kind, key, "definitionHash", "equipmentProfile", locale, seed, form,
                         "startedAt", "finishedAt", "scoreFraction", passed, result)
  SELECT gen_random_uuid(), "countyId", "pollWorkerId", kind, key, "definitionHash", "equipmentProfile", locale, seed, form,
         "startedAt", "finishedAt", "scoreFraction", passed, result
  FROM "Attempt", generate_series(1, 120) WHERE id = ${attemptId}::uuid`
const ask = async () => {
  await askForStatistics(trainer, countyId, 'small')
  const rows = await db().quizWork.findMany({ where: { countyId, kind: 'statistics' } })
  expect(rows).toHaveLength(1)
  return rows[0]!.id
}
const figures = () => getQuizFigures(trainer, countyId, 'small')
const stop = () => stopWork(trainer, { countyId, quizKey: 'small', kind: 'statistics' })

describe('the figures of a quiz', () => {
  it('are worked out once however often they are asked for, and kept with how many sittings they are about', async () => {
    await sit()
    await sit()
    const id = await ask()
    expect(await ask()).toBe(id)
    expect((await figures()).work).toMatchObject({ status: 'queued', progress: 0 })
    await computeStatistics(id)
    const { work, state } = await figures()
    expect(work).toMatchObject({ status: 'done', progress: 1 })
    expect(state).toMatchObject({ status: 'ready', fresh: true, report: { sittings: 2, people: 2 } })
    // A second delivery of the same job does nothing.
    await computeStatistics(id)
    expect((await figures()).work!.status).toBe('done')
    await expect(stop()).rejects.toMatchObject({ code: 'CONFLICT' })
  })

  it('never begin where they are stopped while they wait', async () => {
    const id = await ask()
    await expect(
      stopWork(await makeActor('trainer', 'fennick'), { countyId, quizKey: 'small', kind: 'statistics' }),
    ).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await stop()
    const before = (await db().quizStatistics.findFirstOrThrow()).computedAt
    await computeStatistics(id)
    expect((await figures()).work!.status).toBe('cancelled')
    expect((await db().quizStatistics.findFirstOrThrow()).computedAt).toEqual(before)
  })

  it('say how far they are while a thread works, and end within seconds when somebody stops them', async () => {
    await sitOften(await sit())
    const id = await ask()
    const running = computeStatistics(id, ENDLESS)
    await vi.waitFor(
      async () =>
        expect(await getWorkState(trainer, countyId, 'small', 'statistics')).toMatchObject({
          status: 'running',
          stage: 'two-parameter',
          progress: 0.1 + 0.88 * 0.5,
        }),
      { timeout: 20_000, interval: 200 },
    )
    await stop()
    await running
    const { work, state } = await figures()
    expect(work).toMatchObject({ status: 'cancelled', cancelAsked: true })
    // The earlier figures stay.
    expect(state).toMatchObject({ status: 'ready', fresh: false, report: { sittings: 2 } })
  })

  it('stay the earlier ones where the thread dies, with a sentence that says so', async () => {
    await computeStatistics(await ask(), DYING)
    const { work, state } = await figures()
    expect(work).toMatchObject({ status: 'failed', failure: expect.stringContaining('Try again') })
    expect(state).toMatchObject({ status: 'ready', fresh: false })
  })

  it('can be asked for again after their process was stopped', async () => {
    const id = await ask()
    await db().quizWork.update({
      where: { id },
      data: { status: 'running', heartbeatAt: new Date(Date.now() - 60_000) },
    })
    expect((await figures()).work).toMatchObject({
      status: 'failed',
      failure: expect.stringContaining('ended before it was finished'),
    })
    const again = await ask()
    expect(again).not.toBe(id)
    await computeStatistics(again)
    expect((await figures()).state).toMatchObject({ fresh: true, report: { sittings: 123, people: 3 } })
  })
})
