import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { recordFact } from '@/lib/certification/commands'
import { db, type Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError, invariant } from '@/lib/kernel/errors'
import { canonicalJson } from '@/lib/kernel/hash'
import type { Locale } from '@/lib/kernel/wording'
import { keepDefinition, lockWorker } from '@/lib/scenarios/commands'
import { findScenario } from '@/lib/scenarios/content'
import { type GradedView, gradedView } from '@/lib/scenarios/core/graded'
import {
  equipmentOf,
  listEvents,
  ownAttemptOrThrow,
  profileForLesson,
  traineeOrThrow,
} from '@/lib/scenarios/queries'
import { Locale as LocaleInput, PlayEvent } from '@/lib/scenarios/schema'
import type { Prisma } from '@/prisma/client/client'
import { drawFormFor } from './commands-draw'
import { loadBank } from './content'
import { minutesFor } from './core/mark'
import { withMends } from './core/mend'
import {
  answerFrom,
  answersIn,
  itemsOf,
  markSitting,
  playedIn,
  type QuizEvent,
  type SittingDefinition,
  type SittingItem,
} from './core/sitting'
import { designOrThrow, graceOf, hiddenEnding, retryFor } from './queries'
import { lockMarking, mendsOf } from './queries-mends'
import { designIn } from './queries-pass-marks'
import type { Form } from './schema'

export type OwnQuiz = Awaited<ReturnType<typeof ownAttemptOrThrow>>

const definitionOf = (attempt: OwnQuiz) => attempt.definition.definition as unknown as SittingDefinition
const formOf = (attempt: OwnQuiz) => attempt.form as unknown as Form
/** A form on paper is nobody's to see or answer on a screen. @throws AppError NOT_FOUND */
const assertOnScreen = (attempt: OwnQuiz) => {
  if (attempt.onPaper && !attempt.finishedAt)
    throw new AppError('NOT_FOUND', {
      userMessage: 'This quiz is on paper: your trainer has it.',
      userMessageEs: 'Este examen es en papel: lo tiene su capacitador.',
    })
}
export const isDue = (attempt: { dueAt: Date | null }, at: Date) =>
  attempt.dueAt !== null && at >= graceOf(attempt.dueAt)

/** Goes on with the person's unfinished quiz, or draws a form and begins one. Two clicks at once give one attempt.
 *  @throws AppError NOT_FOUND, CONFLICT where the retake rule says: not yet */
export async function startQuiz(actor: Actor, key: string, locale: Locale): Promise<{ attemptId: string }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const worker = await traineeOrThrow(tx, actor)
    const design = await designIn(tx, worker.countyId, designOrThrow(key))
    await lockWorker(tx, worker.id)
    const open = await tx.attempt.findFirst({
      where: { pollWorkerId: worker.id, kind: 'quiz', key, finishedAt: null, onPaper: false },
      select: { id: true, dueAt: true },
    })
    if (open && (open.dueAt === null || at < graceOf(open.dueAt))) return { attemptId: open.id }
    if (open) await openAttempt(tx, actor, open.id, at)
    const retry = await retryFor(tx, worker, design, at)
    if (retry.status !== 'now')
      throw new AppError('CONFLICT', {
        userMessage:
          'You can’t take the quiz again yet. Its page says when. Until then, practise the lessons.',
        userMessageEs:
          'Todavía no puede hacer el examen otra vez. Su página dice cuándo. Hasta entonces, practique las lecciones.',
      })
    const form = await drawFormFor(tx, worker, design)
    const equipment = await equipmentOf(tx, worker)
    const definition: SittingDefinition = {
      design,
      questions: [...form.questionIds].sort().map((id) => loadBank().get(id)!),
      stories: form.scenarioKeys.map((id) => {
        const scenario = findScenario(id)?.scenario
        invariant(scenario, `the quiz's story ${id} ships`)
        return { scenario, profile: profileForLesson(scenario, equipment).profile }
      }),
    }
    const definitionHash = await keepDefinition(tx, 'quiz', key, definition)
    const minutes = minutesFor(design, Math.max(1, worker.timeMultiplier))
    const attempt = await tx.attempt.create({
      data: {
        countyId: worker.countyId,
        pollWorkerId: worker.id,
        kind: 'quiz',
        key,
        definitionHash,
        equipmentProfile: equipment.id,
        locale,
        seed: form.seed,
        form: form as unknown as Prisma.InputJsonValue,
        startedAt: at,
        dueAt: new Date(at.getTime() + minutes * 60_000),
      },
    })
    await appendAudit(
      tx,
      { chain: worker.countyId, actorAccountId: actor.accountId, at },
      {
        event: 'attempt.started',
        subject: `attempt:${attempt.id}`,
        detail: { kind: 'quiz', key, definitionHash },
      },
    )
    return { attemptId: attempt.id }
  })
}

/** An attempt of the actor's under its lock, handed in first where its time is over. */
async function openAttempt(tx: Tx, actor: Actor, attemptId: string, at: Date): Promise<OwnQuiz | null> {
  const attempt = await ownAttemptOrThrow(tx, actor, attemptId, 'quiz', 'lock')
  assertOnScreen(attempt)
  if (attempt.finishedAt) return null
  if (!isDue(attempt, at)) return attempt
  await finishQuiz(tx, actor.accountId, attempt, at)
  return null
}

const append = (tx: Tx, attemptId: string, sequence: number, event: QuizEvent, at: Date) =>
  tx.attemptEvent.create({
    data: { attemptId, sequence, event: event as unknown as Prisma.InputJsonValue, at },
  })

const itemAtOrThrow = (items: SittingItem[], n: number): SittingItem => {
  const item = items[n - 1]
  if (!item) throw new AppError('NOT_FOUND', { userMessage: 'There is no such question.' })
  return item
}

export const SaveAnswerInput = z.object({
  attemptId: z.uuid(),
  /** Number of the question, from 1. */
  n: z.int().min(1),
  chosen: z.array(z.string()),
  order: z.array(z.string()),
  number: z.string().optional(),
})

export type Saved = { status: 'saved'; of: number } | { status: 'over' }

/** Keeps the answer to one question; the last one counts. The same answer again writes nothing.
 *  @throws AppError NOT_FOUND, INVALID_INPUT */
export async function saveAnswer(actor: Actor, input: z.output<typeof SaveAnswerInput>): Promise<Saved> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const attempt = await openAttempt(tx, actor, input.attemptId, at)
    if (!attempt) return { status: 'over' }
    const items = itemsOf(definitionOf(attempt), formOf(attempt))
    const item = itemAtOrThrow(items, input.n)
    if (item.kind === 'story') return { status: 'saved', of: items.length }
    const answer = answerFrom(item.question, input)
    if (answer === undefined)
      throw new AppError('INVALID_INPUT', {
        userMessage:
          item.question.kind === 'number'
            ? 'Please write a number, with digits only.'
            : item.question.kind === 'order'
              ? 'Please give each line a place of its own.'
              : 'Please choose from the answers shown.',
        userMessageEs:
          item.question.kind === 'number'
            ? 'Escriba un número, solo con cifras.'
            : item.question.kind === 'order'
              ? 'Dé a cada línea un lugar propio.'
              : 'Elija entre las respuestas que se muestran.',
      })
    const log = (await listEvents(tx, attempt.id)) as QuizEvent[]
    if (canonicalJson(answer) !== canonicalJson(answersIn(log)[item.id] ?? null))
      await append(tx, attempt.id, log.length, { type: 'answer', question: item.id, answer }, at)
    return { status: 'saved', of: items.length }
  })
}

export const StoryInput = z.object({
  /** Events of this story before this one. */
  from: z.int().min(0).max(2_000),
  event: PlayEvent,
  locale: LocaleInput,
})

/** One event of a graded story: stored, replayed on the server, answered with the next step and nothing more.
 *  Sending the same again gives the same answer. @throws AppError NOT_FOUND, CONFLICT for a gap, another history or
 *  a quiz that is handed in. */
export async function advanceStory(
  actor: Actor,
  attemptId: string,
  n: number,
  input: z.output<typeof StoryInput>,
): Promise<GradedView> {
  const at = systemClock.now()
  const view = await transaction(async (tx) => {
    const attempt = await openAttempt(tx, actor, attemptId, at)
    if (!attempt) return null
    const item = itemAtOrThrow(itemsOf(definitionOf(attempt), formOf(attempt)), n)
    if (item.kind !== 'story')
      throw new AppError('NOT_FOUND', { userMessage: 'This question is not a story.' })
    const log = (await listEvents(tx, attemptId)) as QuizEvent[]
    const played = playedIn(log, item.id)
    const known = played[input.from]
    if (input.from > played.length || (known && canonicalJson(known) !== canonicalJson(input.event)))
      throw new AppError('CONFLICT', {
        userMessage: `This story was played on elsewhere: ${played.length} steps are stored. Load the page again.`,
        userMessageEs: `Esta historia siguió en otro aparato: hay ${played.length} pasos guardados. Cargue la página otra vez.`,
      })
    if (!known)
      await append(tx, attemptId, log.length, { type: 'play', scenario: item.id, event: input.event }, at)
    return hiddenEnding(
      gradedView(item.scenario, item.profile, input.locale, [...played.slice(0, input.from), input.event]),
    )
  })
  if (!view)
    throw new AppError('CONFLICT', {
      userMessage: 'This quiz was already handed in.',
      userMessageEs: 'Este examen ya se entregó.',
    })
  return view
}

/** Marks by replaying the log, stores the result, and on a pass records the fact, once. In the caller's transaction,
 *  under the attempt's lock. */
export async function finishQuiz(
  tx: Tx,
  /** Null: the clock handed it in. */
  accountId: string | null,
  attempt: OwnQuiz,
  at: Date,
  /** Where it was sat on paper, on an earlier day. */
  satOn?: CivilDate,
): Promise<void> {
  const log = (await listEvents(tx, attempt.id)) as QuizEvent[]
  // A re-mark of the county that is under way is waited for: everybody is marked by the same mends.
  await lockMarking(tx, attempt.countyId, 'shared')
  const mends = await mendsOf(tx, attempt.countyId, attempt.key)
  const { definition, form } = withMends(definitionOf(attempt), formOf(attempt), mends)
  const result = markSitting(definition, form, log)
  await tx.attempt.update({
    where: { id: attempt.id },
    data: {
      finishedAt: at,
      scoreFraction: result.scoreFraction,
      passed: result.passed,
      result: result as unknown as Prisma.InputJsonValue,
    },
  })
  // What was answered by the end of the time counts from that time, however late somebody looks.
  const doneAt = attempt.dueAt && attempt.dueAt < at ? attempt.dueAt : at
  if (result.passed)
    await recordFact(
      tx,
      { accountId, at },
      {
        countyId: attempt.countyId,
        workerId: attempt.pollWorkerId,
        kind: 'quizPassed',
        topic: attempt.key,
        on: satOn ?? civilDateAt(doneAt, attempt.pollWorker.county.timeZone),
        scoreFraction: result.scoreFraction,
        equipmentProfile: attempt.equipmentProfile,
        onceKey: `attempt:${attempt.id}`,
      },
    )
  await appendAudit(
    tx,
    { chain: attempt.countyId, actorAccountId: accountId, at },
    {
      event: 'attempt.finished',
      subject: `attempt:${attempt.id}`,
      detail: {
        kind: 'quiz',
        key: attempt.key,
        scoreFraction: result.scoreFraction,
        passed: result.passed,
      },
    },
  )
}

/** Hands the quiz in; a second time changes nothing. @throws AppError NOT_FOUND */
export async function handInQuiz(actor: Actor, attemptId: string): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    const attempt = await openAttempt(tx, actor, attemptId, at)
    if (attempt) await finishQuiz(tx, actor.accountId, attempt, at)
  })
}

/** Hands in with what there is where the time is over. True: the quiz is handed in. @throws AppError NOT_FOUND */
export async function closeIfDue(actor: Actor, attemptId: string): Promise<boolean> {
  const at = systemClock.now()
  // Nearly always there is nothing to do: that takes no transaction and no lock.
  const attempt = await ownAttemptOrThrow(db(), actor, attemptId, 'quiz')
  assertOnScreen(attempt)
  if (attempt.finishedAt) return true
  if (!isDue(attempt, at)) return false
  return transaction(async (tx) => (await openAttempt(tx, actor, attemptId, at)) === null)
}
