import { beforeAll, describe, expect, it, vi } from 'vitest'
import { startQuiz } from '@/lib/assessment/commands'
import { adoptPassMark, beginPanel, closePanel, ratePanel } from '@/lib/assessment/commands-panels'
import type { SittingDefinition } from '@/lib/assessment/core/sitting'
import type { PanelItem } from '@/lib/assessment/panel'
import { getQuizOrThrow } from '@/lib/assessment/queries'
import { getPanelOrThrow, getPassMarkPage } from '@/lib/assessment/queries-panels'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { civilDate } from '@/lib/kernel/dates'
import { makeActor, makeCounties, makeWorker } from '@/tests/db/scenarios/people'
import { useDatabase } from '@/tests/support/database'

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

useDatabase()
let trainer: Actor
let clerk: Actor
beforeAll(async () => {
  await makeCounties()
  trainer = await makeActor('trainer', 'larkmoor')
  clerk = await makeActor('countyStaff', 'larkmoor')
})

const countyId = 'larkmoor'
const begin = async (roles = 'lead, nine elections\n\n trainer \n', forms = 1) =>
  (await beginPanel(trainer, { countyId, quizKey: 'small', heldOn: civilDate('2026-01-10'), roles, forms }))
    .panelId
const itemsOf = async (panelId: string) =>
  (await db().panel.findUniqueOrThrow({ where: { id: panelId } })).items as unknown as PanelItem[]
const rate = async (panelId: string, judge: number, round: number, percents: number[]) => {
  const items = await itemsOf(panelId)
  const fields = Object.fromEntries(items.map((item, i) => [`rating-${item.id}`, String(percents[i])]))
  await ratePanel(trainer, { countyId, panelId, judge, round, ...fields })
}
const events = async (panelId: string) =>
  (
    await db().auditRecord.findMany({ where: { subject: `panel:${panelId}` }, orderBy: { sequence: 'asc' } })
  ).map((r) => r.event)

describe('a panel', () => {
  it('rates the questions and stories of a form, by roles', async () => {
    const panelId = await begin()
    const panel = await getPanelOrThrow(trainer, countyId, 'small', panelId)
    expect(panel.judges.map((j) => j.role)).toEqual(['lead, nine elections', 'trainer'])
    expect(panel.items.map((i) => [i.kind, i.weight])).toEqual([
      ['question', 1],
      ['question', 1],
      ['question', 1],
      ['story', 2],
    ])
    expect(await events(panelId)).toEqual(['panel.begun'])
  })

  it('weighs the questions of three forms like one form', async () => {
    const items = await itemsOf(await begin('a\nb', 3))
    expect(items.length).toBe(10)
    expect(items.reduce((sum, i) => sum + i.weight, 0)).toBeCloseTo(5, 12)
  })

  it('goes from two rounds to a closed record to an adopted mark, which new sittings take', async () => {
    const panelId = await begin()
    await rate(panelId, 0, 1, [50, 60, 70, 80])
    await expect(rate(panelId, 0, 2, [50, 60, 70, 80])).rejects.toMatchObject({ code: 'CONFLICT' })
    await rate(panelId, 1, 1, [90, 80, 70, 60])
    await expect(closePanel(trainer, { countyId, panelId })).rejects.toMatchObject({ code: 'CONFLICT' })
    await rate(panelId, 0, 2, [60, 60, 70, 80])
    await rate(panelId, 1, 2, [80, 80, 70, 70])
    await expect(adoptPassMark(clerk, { countyId, panelId, which: 'mean' })).rejects.toMatchObject({
      code: 'CONFLICT',
    })
    await closePanel(trainer, { countyId, panelId })
    await expect(rate(panelId, 0, 2, [1, 1, 1, 1])).rejects.toMatchObject({ code: 'CONFLICT' })
    await expect(adoptPassMark(trainer, { countyId, panelId, which: 'mean' })).rejects.toMatchObject({
      code: 'FORBIDDEN',
    })
    const before = await makeWorker()
    const begun = (await startQuiz(before, 'small', 'en')).attemptId
    // Judge 1: 0.6 + 0.6 + 0.7 + 2 × 0.8 = 3.5; judge 2: 0.8 + 0.8 + 0.7 + 2 × 0.7 = 3.7; mean 3.6 of 5 = 72 %.
    // Standard error √(0.02) / √2 = 0.1 points = 2 %: one lower is 70 %, one higher 74 %.
    await adoptPassMark(clerk, { countyId, panelId, which: 'mean' })
    expect((await getPassMarkPage(trainer, countyId, 'small')).adopted?.cutFraction).toBe(0.72)
    const worker = await makeWorker()
    expect((await getQuizOrThrow(worker, 'small', 'en')).cutScoreFraction).toBe(0.72)
    const cutOf = async (attemptId: string) =>
      (
        (await db().attempt.findUniqueOrThrow({ where: { id: attemptId }, include: { definition: true } }))
          .definition.definition as unknown as SittingDefinition
      ).design.passing.cutFraction
    expect(await cutOf((await startQuiz(worker, 'small', 'en')).attemptId)).toBe(0.72)
    expect(await cutOf(begun)).toBe(0.7)
    await adoptPassMark(clerk, { countyId, panelId, which: 'higher' })
    expect((await getPassMarkPage(trainer, countyId, 'small')).adopted?.cutFraction).toBe(0.74)
    expect(await events(panelId)).toEqual([
      'panel.begun',
      ...Array.from({ length: 4 }, () => 'panel.rated'),
      'panel.closed',
      'pass-mark.adopted',
      'pass-mark.adopted',
    ])
    // Another county keeps the mark that came with the quiz.
    expect((await getQuizOrThrow(await makeWorker('fennick'), 'small', 'en')).cutScoreFraction).toBe(0.7)
  })

  it('refuses what is missing or no percentage, and keeps nothing of it', async () => {
    const panelId = await begin()
    for (const bad of [101, -1, Number.NaN, 50.5])
      await expect(rate(panelId, 0, 1, [bad, 50, 50, 50])).rejects.toMatchObject({ code: 'INVALID_INPUT' })
    expect((await getPanelOrThrow(trainer, countyId, 'small', panelId)).judges[0]!.rated).toEqual([
      false,
      false,
    ])
    await expect(begin('only one')).rejects.toMatchObject({ code: 'INVALID_INPUT' })
    await expect(rate(panelId, 7, 1, [1, 1, 1, 1])).rejects.toMatchObject({ code: 'NOT_FOUND' })
  })
})
