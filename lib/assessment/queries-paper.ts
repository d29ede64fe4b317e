import { z } from 'zod'
import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { definitionOf } from '@/lib/scenarios/queries'
import { keyOnSheet, type SheetQuestion, sheetQuestion } from './core/paper'
import type { SittingDefinition } from './core/sitting'
import { designOrThrow } from './queries'
import { type CountyHead, quizCountyOrThrow } from './queries-statistics'
import type { Form, Locale, QuizDesign } from './schema'

/** Does the county ask for two typings by two people? */
export const doubleEntryIn = (county: { settings: unknown }): boolean =>
  (county.settings as { paperDoubleEntry?: boolean } | null)?.paperDoubleEntry === true

/** Why a form is withdrawn. */
export const WithdrawnWhy = z.enum(['spoiled', 'lost', 'not-needed'], { error: 'Say which it is.' })

const WITHDRAWN_WORDS: Record<z.infer<typeof WithdrawnWhy>, string> = {
  spoiled: 'the sheet is spoiled',
  lost: 'the sheet is lost',
  'not-needed': 'not needed',
}

/** As stored (`why`, or `why: note`) in words. */
function withdrawnWords(stored: string): string {
  const [why, ...note] = stored.split(': ')
  return [WITHDRAWN_WORDS[WithdrawnWhy.parse(why)], ...(note.length ? [note.join(': ')] : [])].join(': ')
}

export interface PaperRow {
  attemptId: string
  name: string
  countyRef: string
  drawnOn: CivilDate
  /** How many people have typed it. */
  typists: number
  /** Null while it isn't marked. */
  passed: boolean | null
  scoreFraction: number | null
  /** Why it was withdrawn; null: it wasn't. */
  withdrawn: string | null
}

export interface PaperPage {
  county: CountyHead
  design: QuizDesign
  rows: PaperRow[]
  doubleEntry: boolean
  mayRun: boolean
  maySet: boolean
}

/** The forms of a quiz that were drawn for paper, those still out first, withdrawn ones last. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getPaperPage(actor: Actor, countyId: string, quizKey: string): Promise<PaperPage> {
  const county = await quizCountyOrThrow(actor, countyId)
  const design = designOrThrow(quizKey)
  const [settings, attempts] = await Promise.all([
    db().county.findUniqueOrThrow({ where: { id: countyId }, select: { settings: true } }),
    db().attempt.findMany({
      where: { countyId, kind: 'quiz', key: quizKey, onPaper: true },
      orderBy: [
        { withdrawnAt: { sort: 'desc', nulls: 'first' } },
        { finishedAt: { sort: 'desc', nulls: 'first' } },
        { startedAt: 'desc' },
      ],
      take: 200,
      include: {
        pollWorker: { select: { givenName: true, familyName: true, countyRef: true } },
        paperEntries: { select: { enteredBy: true }, distinct: ['enteredBy'] },
      },
    }),
  ])
  return {
    county,
    design,
    doubleEntry: doubleEntryIn(settings),
    mayRun: can(actor, 'runQuizzes', countyId),
    maySet: can(actor, 'decideQuizzes', countyId),
    rows: attempts.map((attempt) => ({
      attemptId: attempt.id,
      name: `${attempt.pollWorker.familyName}, ${attempt.pollWorker.givenName}`,
      countyRef: attempt.pollWorker.countyRef,
      drawnOn: civilDateAt(attempt.startedAt, county.timeZone),
      typists: attempt.paperEntries.length,
      passed: attempt.passed,
      scoreFraction: attempt.scoreFraction,
      withdrawn: attempt.withdrawnWhy && withdrawnWords(attempt.withdrawnWhy),
    })),
  }
}

export interface PaperForm {
  county: CountyHead
  design: QuizDesign
  attemptId: string
  /** Short enough to be written on a sheet. */
  mark: string
  name: string
  countyRef: string
  locale: Locale
  title: string
  drawnOn: CivilDate
  finished: boolean
  /** Why it was withdrawn; null: it wasn't. */
  withdrawn: string | null
  /** How many people have typed it, and whether the reader is one of them. */
  typists: number
  typedByMe: boolean
  doubleEntry: boolean
  questions: (SheetQuestion & { key: string })[]
}

/** A form on paper with its key: for trainers. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getPaperFormOrThrow(
  actor: Actor,
  countyId: string,
  quizKey: string,
  attemptId: string,
): Promise<PaperForm> {
  const county = await quizCountyOrThrow(actor, countyId)
  assertCan(actor, 'runQuizzes', countyId)
  const attempt = /^[0-9a-f-]{36}$/.test(attemptId)
    ? await db().attempt.findFirst({
        where: { id: attemptId, countyId, kind: 'quiz', key: quizKey, onPaper: true },
        include: {
          pollWorker: { include: { county: true } },
          paperEntries: { select: { enteredBy: true }, distinct: ['enteredBy'] },
        },
      })
    : null
  if (!attempt || attempt.pollWorkerId === actor.pollWorkerId)
    throw new AppError('NOT_FOUND', { userMessage: 'There is no such form.' })
  const { questions, design } = (await definitionOf(db(), attempt.definitionHash))
    .definition as unknown as SittingDefinition
  const form = attempt.form as unknown as Form
  const locale = attempt.locale as Locale
  return {
    county,
    design,
    attemptId,
    mark: attemptId.slice(-8).toUpperCase(),
    name: `${attempt.pollWorker.givenName} ${attempt.pollWorker.familyName}`,
    countyRef: attempt.pollWorker.countyRef,
    locale,
    title: design.names[locale],
    drawnOn: civilDateAt(attempt.startedAt, county.timeZone),
    finished: attempt.finishedAt !== null,
    withdrawn: attempt.withdrawnWhy && withdrawnWords(attempt.withdrawnWhy),
    typists: attempt.paperEntries.length,
    typedByMe: attempt.paperEntries.some((entry) => entry.enteredBy === actor.accountId),
    doubleEntry: doubleEntryIn(attempt.pollWorker.county),
    questions: form.questionIds.map((id) => {
      const question = questions.find((q) => q.id === id)!
      return { ...sheetQuestion(question, form.seed, locale), key: keyOnSheet(question, form.seed) }
    }),
  }
}
