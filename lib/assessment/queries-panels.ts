import type { Actor } from '@/lib/auth/actor'
import { can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import type { CivilDate } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import type { Panel } from '@/prisma/client/client'
import type { QuizReport } from './core/quiz-report'
import { cutOf, hasRated, type Judge, type PanelItem, type PanelRatings, pointsOf } from './panel'
import { designOrThrow } from './queries'
import { type AdoptedMark, passMarksOf } from './queries-pass-marks'
import { type AskedQuestion, askedQuestions, type CountyHead, quizCountyOrThrow } from './queries-statistics'
import type { QuizDesign } from './schema'

export interface PanelRow {
  id: string
  heldOn: CivilDate
  judges: number
  items: number
  state: 'open' | 'closed' | 'adopted'
  /** Share of the points; of the last round that is whole. */
  fraction: number | null
}

export interface PassMarkPage {
  county: CountyHead
  design: QuizDesign
  adopted: AdoptedMark | null
  panels: PanelRow[]
  mayHold: boolean
}

const ratingsOf = (panel: Panel) => panel.ratings as unknown as PanelRatings
const itemsOf = (panel: Panel) => panel.items as unknown as PanelItem[]

/** @throws AppError NOT_FOUND, FORBIDDEN */
export async function getPassMarkPage(
  actor: Actor,
  countyId: string,
  quizKey: string,
): Promise<PassMarkPage> {
  const county = await quizCountyOrThrow(actor, countyId)
  const design = designOrThrow(quizKey)
  const [marks, panels] = await Promise.all([
    passMarksOf(db(), countyId),
    db().panel.findMany({
      where: { countyId, quizKey },
      orderBy: [{ heldOn: 'desc' }, { createdAt: 'desc' }],
    }),
  ])
  return {
    county,
    design,
    adopted: marks.get(quizKey) ?? null,
    mayHold: can(actor, 'runQuizzes', countyId),
    panels: panels.map((panel) => {
      const items = itemsOf(panel)
      const cut = cutOf(items, ratingsOf(panel), 2) ?? cutOf(items, ratingsOf(panel), 1)
      return {
        id: panel.id,
        heldOn: panel.heldOn as CivilDate,
        judges: (panel.judges as unknown as Judge[]).length,
        items: items.length,
        state: panel.adoptedAt ? 'adopted' : panel.closedAt ? 'closed' : 'open',
        fraction: cut?.fraction ?? null,
      }
    }),
  }
}

export interface PanelDetail {
  county: CountyHead
  design: QuizDesign
  id: string
  heldOn: CivilDate
  closedAt: Date | null
  adopted: { at: Date; cutFraction: number } | null
  judges: (Judge & { rated: [boolean, boolean] })[]
  items: (PanelItem & { asked: AskedQuestion; measured: number | null })[]
  ratings: PanelRatings
  points: number
  mayRate: boolean
  mayAdopt: boolean
}

/** A panel with its questions and what is known of them. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getPanelOrThrow(
  actor: Actor,
  countyId: string,
  quizKey: string,
  panelId: string,
): Promise<PanelDetail> {
  const county = await quizCountyOrThrow(actor, countyId)
  const design = designOrThrow(quizKey)
  const panel = /^[0-9a-f-]{36}$/.test(panelId)
    ? await db().panel.findFirst({ where: { id: panelId, countyId, quizKey } })
    : null
  if (!panel) throw new AppError('NOT_FOUND', { userMessage: 'There is no such panel.' })
  const kept = await db().quizStatistics.findUnique({ where: { countyId_quizKey: { countyId, quizKey } } })
  const measured = new Map(
    ((kept?.result as unknown as QuizReport | undefined)?.items ?? []).map((item) => [item.id, item.p]),
  )
  const items = itemsOf(panel)
  const asked = askedQuestions(items.map((item) => item.id))
  const ratings = ratingsOf(panel)
  return {
    county,
    design,
    id: panel.id,
    heldOn: panel.heldOn as CivilDate,
    closedAt: panel.closedAt,
    adopted: panel.adoptedAt ? { at: panel.adoptedAt, cutFraction: panel.cutFraction! } : null,
    judges: (panel.judges as unknown as Judge[]).map((judge, i) => ({
      ...judge,
      rated: [hasRated(ratings, 1, i), hasRated(ratings, 2, i)],
    })),
    items: items.map((item) => ({
      ...item,
      asked: asked.get(item.id)!,
      measured: measured.get(item.id) ?? null,
    })),
    ratings,
    points: pointsOf(items),
    mayRate: !panel.closedAt && can(actor, 'runQuizzes', countyId),
    mayAdopt: panel.closedAt !== null && can(actor, 'decideQuizzes', countyId),
  }
}
