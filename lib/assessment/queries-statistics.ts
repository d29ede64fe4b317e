import type { Actor } from '@/lib/auth/actor'
import { assertCan, can, countiesWith } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { findScenario } from '@/lib/scenarios/content'
import { listQuizDesigns, loadBank } from './content'
import type { QuizReport, QuizReportInput, SatItem, SittingRecord } from './core/quiz-report'
import { rightTexts } from './core/sitting'
import { designOrThrow } from './queries'
import { passMarksOf } from './queries-pass-marks'
import { newestWork, type WorkState } from './queries-work'
import type { Form, Locale, Question, QuizDesign, Result } from './schema'

export interface CountyHead {
  id: string
  name: string
  timeZone: string
}

/** @throws AppError NOT_FOUND, FORBIDDEN */
export async function quizCountyOrThrow(actor: Actor, countyId: string): Promise<CountyHead> {
  assertCan(actor, 'readQuizzes', countyId)
  const county = await db().county.findUnique({
    where: { id: countyId },
    select: { id: true, name: true, timeZone: true },
  })
  if (!county) throw new AppError('NOT_FOUND', { userMessage: 'There is no such county.' })
  return county
}

export const listQuizCounties = async (actor: Actor): Promise<{ id: string; name: string }[]> => {
  const where = countiesWith(actor, 'readQuizzes')
  return db().county.findMany({
    where: where === 'all' ? {} : { id: { in: where } },
    select: { id: true, name: true },
    orderBy: { name: 'asc' },
  })
}

export interface QuizRow {
  key: string
  title: string
  sittings: number
  people: number
  passed: number
  meanFraction: number | null
  cutFraction: number
  /** Null: as the quiz came with it. */
  cutAdoptedOn: CivilDate | null
  openAppeals: number
  openPaper: number
}

/** Every quiz as the county used it so far. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listQuizRows(
  actor: Actor,
  countyId: string,
): Promise<{ county: CountyHead; rows: QuizRow[] }> {
  const county = await quizCountyOrThrow(actor, countyId)
  const [counts, appeals, paper, marks] = await Promise.all([
    db().$queryRaw<{ key: string; sittings: number; people: number; passed: number; mean: number }[]>`
      SELECT key, count(*)::int AS sittings, count(DISTINCT "pollWorkerId")::int AS people,
             count(DISTINCT "pollWorkerId") FILTER (WHERE passed)::int AS passed, avg("scoreFraction") AS mean
      FROM "Attempt" WHERE "countyId" = ${countyId} AND kind = 'quiz' AND "finishedAt" IS NOT NULL GROUP BY key`,
    db().appeal.findMany({
      where: { countyId, decision: null },
      select: { attempt: { select: { key: true } } },
    }),
    db().attempt.groupBy({
      by: ['key'],
      where: { countyId, kind: 'quiz', onPaper: true, finishedAt: null, withdrawnAt: null },
      _count: true,
    }),
    passMarksOf(db(), countyId),
  ])
  const rows = listQuizDesigns().map((design): QuizRow => {
    const own = counts.find((c) => c.key === design.id)
    const mark = marks.get(design.id)
    return {
      key: design.id,
      title: design.names.en,
      sittings: own?.sittings ?? 0,
      people: own?.people ?? 0,
      passed: own?.passed ?? 0,
      meanFraction: own?.mean ?? null,
      cutFraction: mark?.cutFraction ?? design.passing.cutFraction,
      cutAdoptedOn: mark?.adoptedOn ?? null,
      openAppeals: appeals.filter((a) => a.attempt.key === design.id).length,
      openPaper: paper.find((p) => p.key === design.id)?._count ?? 0,
    }
  })
  return { county, rows }
}

/** Finished sittings of a county's quiz as statistics take them, and what stood on the other forms. Reads everything: for
 *  the job. */
export async function readSittings(countyId: string, quizKey: string): Promise<QuizReportInput> {
  const where = { countyId, kind: 'quiz' as const, key: quizKey, finishedAt: { not: null } }
  const [county, attempts, answers, unmarked] = await Promise.all([
    db().county.findUniqueOrThrow({ where: { id: countyId }, select: { timeZone: true } }),
    db().attempt.findMany({
      where,
      select: {
        id: true,
        pollWorkerId: true,
        finishedAt: true,
        dueAt: true,
        locale: true,
        result: true,
        form: true,
      },
      orderBy: { finishedAt: 'asc' },
    }),
    db().$queryRaw<{ attemptId: string; question: string; option: string | null }[]>`
      SELECT DISTINCT ON (e."attemptId", e.event ->> 'question')
             e."attemptId", e.event ->> 'question' AS question, e.event -> 'answer' ->> 'option' AS option
      FROM "AttemptEvent" e JOIN "Attempt" a ON a.id = e."attemptId"
      WHERE a."countyId" = ${countyId} AND a.kind = 'quiz' AND a.key = ${quizKey} AND a."finishedAt" IS NOT NULL
        AND e.event ->> 'type' = 'answer'
      ORDER BY e."attemptId", e.event ->> 'question', e.sequence DESC`,
    db().attempt.findMany({ where: { ...where, finishedAt: null }, select: { form: true } }),
  ])
  const chosen = new Map(answers.map((a) => [`${a.attemptId} ${a.question}`, a.option]))
  const questions = await questionsById(countyId, quizKey, attempts)
  const sittings = attempts.flatMap((attempt): SittingRecord[] => {
    const result = attempt.result as unknown as Result
    const end = attempt.dueAt && attempt.dueAt < attempt.finishedAt! ? attempt.dueAt : attempt.finishedAt!
    return [
      {
        personId: attempt.pollWorkerId,
        on: civilDateAt(end, county.timeZone),
        locale: attempt.locale as Locale,
        passed: result.passed,
        scoreFraction: result.scoreFraction,
        cutFraction: result.cutFraction,
        items: result.items.flatMap((item): SatItem[] => {
          const question = questions.get(item.id)
          const competency = question?.competency ?? storyCompetency(quizKey, item.id)
          if (!competency) return []
          return [
            {
              ...item,
              kind: question ? 'question' : 'story',
              competency,
              ...(question?.kind === 'single'
                ? { option: chosen.get(`${attempt.id} ${item.id}`) ?? null }
                : {}),
            },
          ]
        }),
      },
    ]
  })
  const options = new Map(
    [...questions.values()].flatMap((q) =>
      q.kind === 'single' ? [[q.id, q.options.map(({ id, right }) => ({ id, right }))] as const] : [],
    ),
  )
  return {
    sittings,
    options,
    unmarked: unmarked.map(({ form }) => {
      const { questionIds, scenarioKeys } = form as unknown as Form
      return [...questionIds, ...scenarioKeys]
    }),
  }
}

const storyCompetency = (quizKey: string, id: string) =>
  designOrThrow(quizKey).scenarios.find((s) => s.key === id)?.competency

/** The questions of the attempts: from the bank, and where the bank has moved on, as they were. */
async function questionsById(
  countyId: string,
  quizKey: string,
  attempts: readonly { form: unknown }[],
): Promise<Map<string, Question>> {
  const asked = new Set(attempts.flatMap((a) => (a.form as Form).questionIds))
  const found = new Map([...loadBank()].filter(([id]) => asked.has(id)))
  const gone = [...asked].filter((id) => !found.has(id))
  if (gone.length === 0) return found
  const old = await db().$queryRaw<{ question: Question }[]>`
    SELECT DISTINCT ON (q ->> 'id') q AS question
    FROM "DefinitionVersion" d, jsonb_array_elements(d.definition -> 'questions') q
    WHERE q ->> 'id' = ANY(${gone}) AND d.hash IN (
      SELECT "definitionHash" FROM "Attempt"
      WHERE "countyId" = ${countyId} AND kind = 'quiz' AND key = ${quizKey} AND "finishedAt" IS NOT NULL)
    ORDER BY q ->> 'id', d."createdAt" DESC`
  for (const { question } of old) found.set(question.id, question)
  return found
}

export type StatisticsState =
  /** `fresh`: it is about all finished sittings there are. */
  { status: 'ready'; computedAt: Date; fresh: boolean; report: QuizReport } | { status: 'none' }

export interface QuizFigures {
  county: CountyHead
  design: QuizDesign
  state: StatisticsState
  /** The job that works them out: under way, or how the newest one ended. */
  work: WorkState | null
  finished: number
  openAppeals: number
  /** May say that a question is faulty, for everybody. */
  mayDecide: boolean
}

/** @throws AppError NOT_FOUND, FORBIDDEN */
export async function getQuizFigures(actor: Actor, countyId: string, quizKey: string): Promise<QuizFigures> {
  const county = await quizCountyOrThrow(actor, countyId)
  const design = designOrThrow(quizKey)
  const [kept, finished, openAppeals, work] = await Promise.all([
    db().quizStatistics.findUnique({ where: { countyId_quizKey: { countyId, quizKey } } }),
    db().attempt.count({ where: { countyId, kind: 'quiz', key: quizKey, finishedAt: { not: null } } }),
    db().appeal.count({ where: { countyId, decision: null, attempt: { key: quizKey } } }),
    newestWork(db(), countyId, quizKey, 'statistics'),
  ])
  return {
    county,
    design,
    finished,
    openAppeals,
    mayDecide: can(actor, 'decideQuizzes', countyId),
    work,
    state: kept
      ? {
          status: 'ready',
          computedAt: kept.computedAt,
          fresh: kept.attempts === finished,
          report: kept.result as unknown as QuizReport,
        }
      : { status: 'none' },
  }
}

export interface AskedQuestion {
  id: string
  kind: Question['kind'] | 'story'
  /** English stem, or the story's title. */
  text: string
  options: { id: string; text: string; right: boolean }[]
  right: string[]
  competency: string
  band: string | null
  lifecycle: string | null
  version: number
}

/** What the pages tell of the items of a report, by id: the bank's newest text. */
export function askedQuestions(ids: readonly string[]): Map<string, AskedQuestion> {
  const bank = loadBank()
  return new Map(
    ids.map((id): [string, AskedQuestion] => {
      const q = bank.get(id)
      if (!q) {
        const story = findScenario(id)?.scenario
        return [
          id,
          {
            id,
            kind: story ? 'story' : 'single',
            text: story?.texts.en.title ?? id,
            options: [],
            right: [],
            competency: '',
            band: null,
            lifecycle: story ? null : 'no longer in the bank',
            version: 1,
          },
        ]
      }
      return [
        id,
        {
          id,
          kind: q.kind,
          text: q.texts.en.stem,
          options:
            'options' in q
              ? q.options.map((o) => ({ id: o.id, right: o.right, text: q.texts.en.options[o.id]! }))
              : [],
          right: rightTexts(q, 'en'),
          competency: q.competency,
          band: q.band,
          lifecycle: q.lifecycle,
          version: q.version,
        },
      ]
    }),
  )
}
