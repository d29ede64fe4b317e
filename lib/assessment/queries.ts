import type { Actor } from '@/lib/auth/actor'
import { recordIdsOf } from '@/lib/certification/queries'
import { db, type Tx } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { addDays, type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import type { Locale } from '@/lib/kernel/wording'
import { type GradedView, gradedView } from '@/lib/scenarios/core/graded'
import { type StrippedScenario, stripScenario } from '@/lib/scenarios/core/strip'
import { textsFor } from '@/lib/scenarios/core/texts'
import { listEvents, ownAttemptOrThrow, type Trainee, traineeOrThrow } from '@/lib/scenarios/queries'
import type { EquipmentProfile, PlayEvent } from '@/lib/scenarios/schema'
import { findQuizDesign, listQuizDesigns } from './content'
import { minutesFor } from './core/mark'
import {
  answersIn,
  isAnswered,
  itemsOf,
  playedIn,
  type QuizEvent,
  type SittingDefinition,
  type SittingItem,
} from './core/sitting'
import { type ShownQuestion, showQuestion } from './core/strip'
import { designIn } from './queries-pass-marks'
import type { Answer, Form, QuizDesign } from './schema'

/** An answer that was on its way when the time ended still counts: the network is slower than the clock. */
const GRACE_MS = 15_000
export const graceOf = (dueAt: Date): Date => new Date(dueAt.getTime() + GRACE_MS)

/** @throws AppError NOT_FOUND */
export function designOrThrow(key: string): QuizDesign {
  const design = findQuizDesign(key)
  if (!design)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such quiz.',
      userMessageEs: 'No existe ese examen.',
    })
  return design
}

/** Question id → how often it was drawn in the last thousand forms of a quiz, for balance. */
export async function exposureOf(tx: Tx, key: string): Promise<Map<string, number>> {
  const rows = await tx.$queryRaw<{ id: string; times: number }[]>`
    SELECT id, count(*)::int AS times
    FROM (SELECT form FROM "Attempt" WHERE kind = 'quiz' AND key = ${key} ORDER BY id DESC LIMIT 1000) AS recent,
         jsonb_array_elements_text(recent.form -> 'questionIds') AS id
    GROUP BY id`
  return new Map(rows.map((row) => [row.id, row.times]))
}

/** When the person may begin the quiz (again). */
export type Retry = { status: 'now' } | { status: 'later'; on: CivilDate } | { status: 'no-more' }

/** The design's retake rule: so many days after a failed attempt; failed attempts are counted anew after each pass, so
 *  that a certificate can be renewed. */
export async function retryFor(
  tx: Tx,
  worker: Pick<Trainee, 'id' | 'county'>,
  design: QuizDesign,
  at: Date,
): Promise<Retry> {
  const tries = await tx.attempt.findMany({
    where: { pollWorkerId: worker.id, kind: 'quiz', key: design.id, finishedAt: { not: null } },
    orderBy: { finishedAt: 'desc' },
    select: { finishedAt: true, passed: true },
  })
  const passAt = tries.findIndex((t) => t.passed)
  const failed = passAt === -1 ? tries : tries.slice(0, passAt)
  const last = failed[0]?.finishedAt
  if (!last) return { status: 'now' }
  const { waitDays, maxAttempts } = design.retake
  if (maxAttempts !== null && failed.length >= maxAttempts) return { status: 'no-more' }
  const { timeZone } = worker.county
  const on = addDays(civilDateAt(last, timeZone), waitDays)
  return on <= civilDateAt(at, timeZone) ? { status: 'now' } : { status: 'later', on }
}

export interface QuizSummary {
  key: string
  title: string
  minutes: number
  state: 'unfinished' | 'passed' | 'new' | 'tried'
}

const numberOfItems = (design: QuizDesign): number =>
  design.blueprint.cells.reduce((sum, cell) => sum + cell.count, 0) +
  design.blueprint.trialItems +
  design.scenarios.length

/** Every quiz, with where the person stands in it. Passed is what the facts say. */
export async function listQuizzes(actor: Actor, locale: Locale): Promise<QuizSummary[]> {
  const worker = await traineeOrThrow(db(), actor)
  const [attempts, passes] = await Promise.all([
    db().attempt.findMany({
      where: { pollWorkerId: worker.id, kind: 'quiz' },
      select: { key: true, finishedAt: true, onPaper: true },
    }),
    db().fact.findMany({
      where: {
        pollWorkerId: { in: await recordIdsOf(db(), worker.countyId, worker.id) },
        kind: 'quizPassed',
      },
      select: { topic: true },
    }),
  ])
  return listQuizDesigns().map((design) => {
    const own = attempts.filter((a) => a.key === design.id)
    return {
      key: design.id,
      title: design.names[locale],
      minutes: minutesFor(design, Math.max(1, worker.timeMultiplier)),
      state: own.some((a) => !a.finishedAt && !a.onPaper)
        ? 'unfinished'
        : passes.some((fact) => fact.topic === design.id)
          ? 'passed'
          : own.some((a) => a.finishedAt)
            ? 'tried'
            : 'new',
    }
  })
}

export interface QuizPage {
  title: string
  questions: number
  hasScenario: boolean
  /** The person's own limit. */
  limitMinutes: number
  /** Longer than the usual one. */
  ownLimit: boolean
  cutScoreFraction: number
  passedOn: CivilDate | null
  unfinishedAttemptId: string | null
  lastAttemptId: string | null
  retry: Retry
}

/** One quiz before it is begun. @throws AppError NOT_FOUND */
export async function getQuizOrThrow(actor: Actor, key: string, locale: Locale): Promise<QuizPage> {
  const worker = await traineeOrThrow(db(), actor)
  const design = await designIn(db(), worker.countyId, designOrThrow(key))
  const [attempts, pass, retry] = await Promise.all([
    db().attempt.findMany({
      where: { pollWorkerId: worker.id, kind: 'quiz', key },
      orderBy: { startedAt: 'desc' },
      select: { id: true, finishedAt: true, onPaper: true },
    }),
    db().fact.findFirst({
      where: { pollWorkerId: worker.id, kind: 'quizPassed', topic: key },
      orderBy: { happenedOn: 'desc' },
      select: { happenedOn: true },
    }),
    retryFor(db(), worker, design, systemClock.now()),
  ])
  return {
    title: design.names[locale],
    questions: numberOfItems(design),
    hasScenario: design.scenarios.length > 0,
    limitMinutes: minutesFor(design, Math.max(1, worker.timeMultiplier)),
    ownLimit: worker.timeMultiplier > 1,
    cutScoreFraction: design.passing.cutFraction,
    passedOn: (pass?.happenedOn ?? null) as CivilDate | null,
    unfinishedAttemptId: attempts.find((a) => !a.finishedAt && !a.onPaper)?.id ?? null,
    lastAttemptId: attempts.find((a) => a.finishedAt)?.id ?? null,
    retry,
  }
}

/** What the browser gets of a story: the first step alone, then one step after the other. */
export interface Story {
  scenario: StrippedScenario
  profile: EquipmentProfile
  texts: Record<string, string>
  events: PlayEvent[]
  view: GradedView
}

/** A question as its page shows it, with the answer so far: nothing in it tells which answer is right. */
export interface FormQuestion {
  shown: ShownQuestion
  /** Ids chosen, or put in order; the number as text. */
  chosen: string[]
}
export type SitQuestion = ({ type: 'question' } & FormQuestion) | { type: 'story'; story: Story }

export interface Sitting {
  title: string
  items: { n: number; answered: boolean }[]
  dueAt: Date | null
  timeZone: string
  question: SitQuestion | null
}

/** The end of a graded story says only that it is over: how it came out is told with the result. */
export const hiddenEnding = (view: GradedView): GradedView =>
  view.finished
    ? {
        at: view.at,
        state: {
          step: 'end',
          flags: {},
          stations: {},
          acts: [],
          fired: [],
          marked: [],
          order: [],
          visits: {},
        },
        step: { kind: 'end', id: 'end' },
        texts: {},
        finished: true,
      }
    : view

/** A quiz being sat, with one of its questions (`n` from 1; null: none). @throws AppError NOT_FOUND */
export async function getSittingOrThrow(
  actor: Actor,
  attemptId: string,
  locale: Locale,
  n: number | null,
): Promise<Sitting> {
  const attempt = await ownAttemptOrThrow(db(), actor, attemptId, 'quiz')
  const definition = attempt.definition.definition as unknown as SittingDefinition
  const log = (await listEvents(db(), attemptId)) as QuizEvent[]
  const answers = answersIn(log)
  const items = itemsOf(definition, attempt.form as unknown as Form)
  const viewOf = (item: Extract<SittingItem, { kind: 'story' }>) =>
    hiddenEnding(gradedView(item.scenario, item.profile, locale, playedIn(log, item.id)))
  const item = n === null ? undefined : items[n - 1]
  const question = (): SitQuestion | null => {
    if (!item) return null
    if (item.kind === 'question') {
      const answer = answers[item.id]
      return {
        type: 'question',
        shown: showQuestion(item.question, attempt.seed, locale),
        chosen: answer ? chosenIn(answer) : [],
      }
    }
    const view = viewOf(item)
    return {
      type: 'story',
      story: {
        scenario: stripScenario(item.scenario, [item.scenario.start]),
        profile: item.profile,
        texts: textsFor(item.scenario, item.profile, locale, { graded: true, steps: [item.scenario.start] }),
        events: playedIn(log, item.id),
        view,
      },
    }
  }
  return {
    title: definition.design.names[locale],
    items: items.map((each, i) => ({
      n: i + 1,
      answered:
        each.kind === 'question' ? isAnswered(each.question, answers[each.id]) : viewOf(each).finished,
    })),
    dueAt: attempt.dueAt,
    timeZone: attempt.pollWorker.county.timeZone,
    question: question(),
  }
}

const chosenIn = (answer: Answer): string[] => {
  switch (answer.kind) {
    case 'single':
      return [answer.option]
    case 'several':
      return answer.options
    case 'order':
      return answer.items
    case 'number':
      return [String(answer.value)]
    case 'picture-areas':
      return answer.areas
  }
}
