import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { keepDefinition, lockWorker } from '@/lib/scenarios/commands'
import { definitionOf, equipmentOf } from '@/lib/scenarios/queries'
import { Id, Locale } from '@/lib/scenarios/schema'
import type { Prisma } from '@/prisma/client/client'
import { finishQuiz } from './commands'
import { drawFormFor } from './commands-draw'
import { loadBank } from './content'
import { answerFromSheet, differences, paperDesign, type TypedAnswers } from './core/paper'
import type { QuizEvent, SittingDefinition } from './core/sitting'
import { designOrThrow, retryFor } from './queries'
import { doubleEntryIn, WithdrawnWhy } from './queries-paper'
import { designIn } from './queries-pass-marks'
import type { Form } from './schema'

const json = (value: unknown) => value as Prisma.InputJsonValue

export const DrawPaperInput = z.object({
  countyId: z.string().max(60),
  quizKey: Id,
  countyRef: z.string().trim().max(60),
  locale: Locale,
})

/** Draws a form to be printed for a person; one that is still out is given again. Retake rules hold as on the screen.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT, CONFLICT, UNAVAILABLE */
export async function drawPaperForm(
  actor: Actor,
  input: z.output<typeof DrawPaperInput>,
): Promise<{ attemptId: string }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    assertCan(actor, 'runQuizzes', input.countyId)
    const worker = await tx.pollWorker.findFirst({
      where: {
        countyId: input.countyId,
        active: true,
        countyRef: { equals: input.countyRef, mode: 'insensitive' },
      },
      include: { county: true },
    })
    if (!worker)
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Nobody here has this county number. Nothing was drawn.',
        fields: { countyRef: 'Look the number up in the list of check-offs, or on the person’s card.' },
      })
    assertNotOwn(actor, worker.id)
    await lockWorker(tx, worker.id)
    const open = await tx.attempt.findFirst({
      where: {
        pollWorkerId: worker.id,
        kind: 'quiz',
        key: input.quizKey,
        finishedAt: null,
        withdrawnAt: null,
        onPaper: true,
      },
      select: { id: true },
    })
    if (open) return { attemptId: open.id }
    const design = paperDesign(await designIn(tx, input.countyId, designOrThrow(input.quizKey)))
    const retry = await retryFor(tx, worker, design, at)
    if (retry.status !== 'now')
      throw new AppError('CONFLICT', {
        userMessage:
          retry.status === 'later'
            ? `This person may take the quiz again from ${retry.on} on. Nothing was drawn.`
            : 'This person has no tries left. Nothing was drawn.',
      })
    const form = await drawFormFor(tx, worker, design)
    const definition: SittingDefinition = {
      design,
      questions: [...form.questionIds].sort().map((id) => loadBank().get(id)!),
      stories: [],
    }
    const attempt = await tx.attempt.create({
      data: {
        countyId: input.countyId,
        pollWorkerId: worker.id,
        kind: 'quiz',
        key: design.id,
        definitionHash: await keepDefinition(tx, 'quiz', design.id, definition),
        equipmentProfile: (await equipmentOf(tx, worker)).id,
        locale: input.locale,
        seed: form.seed,
        form: json(form),
        onPaper: true,
        startedAt: at,
      },
    })
    await appendAudit(
      tx,
      { chain: input.countyId, actorAccountId: actor.accountId, at },
      { event: 'paper-form.drawn', subject: `attempt:${attempt.id}`, detail: { quizKey: design.id } },
    )
    return { attemptId: attempt.id }
  })
}

const assertNotOwn = (actor: Actor, workerId: string) => {
  if (actor.pollWorkerId === workerId)
    throw new AppError('FORBIDDEN', {
      userMessage: 'Nobody can handle their own quiz on paper. Ask another trainer.',
    })
}

export const TypePaperInput = z.looseObject({
  countyId: z.string().max(60),
  attemptId: z.uuid(),
  satOn: CivilDateInput,
})

export type Typed =
  /** Marked; the facts are written. */
  | { status: 'marked' }
  /** Kept; somebody else has to type the sheet too. */
  | { status: 'second-needed' }
  /** Kept; it differs from what others typed, on these questions. */
  | { status: 'differs'; numbers: number[] }

/** Keeps what was typed from a sheet (fields `answer-<number>`). Where the county asks for double entry, the quiz is
 *  marked when two people's typings agree; otherwise at once.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT, CONFLICT */
export async function typePaperAnswers(actor: Actor, input: z.output<typeof TypePaperInput>): Promise<Typed> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const attempt = await paperAttemptOrThrow(tx, actor, input.countyId, input.attemptId)
    if (attempt.finishedAt)
      throw new AppError('CONFLICT', { userMessage: 'This quiz is already marked. Nothing was changed.' })
    if (attempt.withdrawnAt)
      throw new AppError('CONFLICT', { userMessage: 'This form was withdrawn. Nothing was changed.' })
    const { timeZone } = attempt.pollWorker.county
    if (input.satOn > civilDateAt(at, timeZone) || input.satOn < civilDateAt(attempt.startedAt, timeZone))
      throw new AppError('INVALID_INPUT', {
        userMessage: 'The day doesn’t fit. Nothing was saved.',
        fields: {
          satOn: `Choose a day from ${civilDateAt(attempt.startedAt, timeZone)}, when the form was drawn, to today.`,
        },
      })
    const answers = answersOf(attempt, input)
    const earlier = await tx.paperEntry.findMany({
      where: { attemptId: attempt.id },
      orderBy: { round: 'asc' },
    })
    await tx.paperEntry.create({
      data: {
        countyId: attempt.countyId,
        attemptId: attempt.id,
        round: earlier.length + 1,
        satOn: input.satOn,
        answers: json(answers),
        enteredBy: actor.accountId,
        enteredAt: at,
      },
    })
    // Of each other person, what they typed last: they may have corrected themselves.
    const others = [...new Map(earlier.map((entry) => [entry.enteredBy, entry])).values()].filter(
      (entry) => entry.enteredBy !== actor.accountId,
    )
    const { questionIds } = attempt.form as unknown as Form
    const apart = others.map((entry) =>
      differences(questionIds, answers, entry.answers as unknown as TypedAnswers),
    )
    const agreed = !doubleEntryIn(attempt.pollWorker.county) || apart.some((numbers) => numbers.length === 0)
    await appendAudit(
      tx,
      { chain: attempt.countyId, actorAccountId: actor.accountId, at },
      {
        event: 'paper-form.typed',
        subject: `attempt:${attempt.id}`,
        detail: { round: earlier.length + 1, agreed },
      },
    )
    if (!agreed)
      return others.length === 0 ? { status: 'second-needed' } : { status: 'differs', numbers: apart.at(-1)! }
    await tx.attemptEvent.createMany({
      data: questionIds
        .filter((id) => answers[id])
        .map((id, sequence) => ({
          attemptId: attempt.id,
          sequence,
          event: json({ type: 'answer', question: id, answer: answers[id]! } satisfies QuizEvent),
          at,
        })),
    })
    await finishQuiz(tx, actor.accountId, attempt, at, input.satOn)
    return { status: 'marked' }
  })
}

export const WithdrawPaperInput = z.object({
  countyId: z.string().max(60),
  attemptId: z.uuid(),
  why: WithdrawnWhy,
  note: z.string().trim().max(300),
})

/** Withdraws a form whose sheet is spoiled, lost or not needed, before any answers were typed. It is never marked and is
 *  no try of the person's, but its questions were seen: they count in exposure and as the person's earlier form.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT, CONFLICT */
export async function withdrawPaperForm(
  actor: Actor,
  input: z.output<typeof WithdrawPaperInput>,
): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    const attempt = await paperAttemptOrThrow(tx, actor, input.countyId, input.attemptId)
    if (attempt.finishedAt)
      throw new AppError('CONFLICT', { userMessage: 'This quiz is already marked. Nothing was changed.' })
    if (attempt.withdrawnAt)
      throw new AppError('CONFLICT', { userMessage: 'This form was withdrawn before.' })
    if (await tx.paperEntry.findFirst({ where: { attemptId: attempt.id } }))
      throw new AppError('CONFLICT', {
        userMessage:
          'Answers of this form were typed already, so it can’t be withdrawn. Type them to the end.',
      })
    await tx.attempt.update({
      where: { id: attempt.id },
      data: { withdrawnAt: at, withdrawnWhy: input.note ? `${input.why}: ${input.note}` : input.why },
    })
    await appendAudit(
      tx,
      { chain: attempt.countyId, actorAccountId: actor.accountId, at },
      { event: 'paper-form.withdrawn', subject: `attempt:${attempt.id}`, detail: { why: input.why } },
    )
  })
}

/** A paper attempt of the county under its lock, in the shape that marking takes. */
async function paperAttemptOrThrow(tx: Tx, actor: Actor, countyId: string, attemptId: string) {
  assertCan(actor, 'runQuizzes', countyId)
  await tx.$executeRaw`SELECT 1 FROM "Attempt" WHERE id = ${attemptId}::uuid AND "countyId" = ${countyId} FOR UPDATE`
  const attempt = await tx.attempt.findFirst({
    where: { id: attemptId, countyId, kind: 'quiz', onPaper: true },
    include: { pollWorker: { include: { county: true } } },
  })
  if (!attempt) throw new AppError('NOT_FOUND', { userMessage: 'There is no such form.' })
  assertNotOwn(actor, attempt.pollWorkerId)
  return { ...attempt, definition: await definitionOf(tx, attempt.definitionHash) }
}

/** @throws AppError INVALID_INPUT, naming each field that can't be read */
function answersOf(
  attempt: Awaited<ReturnType<typeof paperAttemptOrThrow>>,
  input: Record<string, unknown>,
): TypedAnswers {
  const { questions } = attempt.definition.definition as unknown as SittingDefinition
  const form = attempt.form as unknown as Form
  const fields: Record<string, string> = {}
  const answers: TypedAnswers = {}
  for (const [i, id] of form.questionIds.entries()) {
    const question = questions.find((q) => q.id === id)!
    const typed = input[`answer-${i + 1}`]
    const answer = answerFromSheet(question, form.seed, typeof typed === 'string' ? typed : '')
    if (answer !== undefined) answers[id] = answer
    else
      fields[`answer-${i + 1}`] =
        question.kind === 'number'
          ? 'Write digits only.'
          : question.kind === 'single'
            ? 'Write one letter that stands at this question.'
            : question.kind === 'order'
              ? 'Write every letter of this question once, in the person’s order; leave it empty where some are missing.'
              : 'Write letters that stand at this question, each once.'
  }
  const count = Object.keys(fields).length
  if (count > 0)
    throw new AppError('INVALID_INPUT', {
      userMessage: `${count === 1 ? '1 answer' : `${count} answers`} can’t be read. Nothing was saved yet.`,
      fields,
    })
  return answers
}

export const DoubleEntryInput = z.object({
  countyId: z.string().max(60),
  required: z.enum(['yes', 'no']),
})

/** Whether two people have to type each sheet. @throws AppError NOT_FOUND, FORBIDDEN */
export async function setDoubleEntry(actor: Actor, input: z.output<typeof DoubleEntryInput>): Promise<void> {
  assertCan(actor, 'decideQuizzes', input.countyId)
  const change = JSON.stringify({ paperDoubleEntry: input.required === 'yes' })
  await transaction(async (tx) => {
    await tx.$executeRaw`UPDATE "County" SET settings = settings || ${change}::jsonb WHERE id = ${input.countyId}`
    await appendAudit(
      tx,
      { chain: input.countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      {
        event: 'county.settings-changed',
        subject: `county:${input.countyId}`,
        detail: { changed: ['paperDoubleEntry'] },
      },
    )
  })
}
