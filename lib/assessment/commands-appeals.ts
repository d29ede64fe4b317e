import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { ownAttemptOrThrow } from '@/lib/scenarios/queries'
import { Id } from '@/lib/scenarios/schema'
import { tellOfAppeal } from './commands-tell'
import type { Form } from './schema'

export const AppealInput = z.object({
  attemptId: z.uuid(),
  questionId: Id,
  text: z.string().trim().max(1000),
})

/** Says that a question of one's own marked quiz is wrong. One appeal a question.
 *  @throws AppError NOT_FOUND, INVALID_INPUT, CONFLICT */
export async function enterAppeal(actor: Actor, input: z.output<typeof AppealInput>): Promise<void> {
  await transaction(async (tx) => {
    const attempt = await ownAttemptOrThrow(tx, actor, input.attemptId, 'quiz', 'lock')
    await keepAppeal(tx, actor, attempt, { ...input, askedOn: null })
  })
}

export const AppealForInput = AppealInput.extend({
  countyId: z.string().max(60),
  questionId: z.string('Choose the question.').pipe(Id),
  askedOn: CivilDateInput,
})

/** The same for somebody who asked a trainer or the office instead of a screen, on this day.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT, CONFLICT */
export async function enterAppealFor(actor: Actor, input: z.output<typeof AppealForInput>): Promise<void> {
  await transaction(async (tx) => {
    assertCan(actor, 'runQuizzes', input.countyId)
    await tx.$executeRaw`SELECT 1 FROM "Attempt" WHERE id = ${input.attemptId}::uuid FOR UPDATE`
    const attempt = await tx.attempt.findFirst({
      where: { id: input.attemptId, countyId: input.countyId, kind: 'quiz', finishedAt: { not: null } },
      include: { pollWorker: { include: { county: true } } },
    })
    if (!attempt) throw new AppError('NOT_FOUND', { userMessage: 'There is no such marked quiz.' })
    if (attempt.pollWorkerId === actor.pollWorkerId)
      throw new AppError('FORBIDDEN', {
        userMessage: 'Your own appeal you enter on your result page.',
      })
    const { timeZone } = attempt.pollWorker.county
    const first = civilDateAt(attempt.startedAt, timeZone)
    if (input.askedOn < first || input.askedOn > civilDateAt(systemClock.now(), timeZone))
      throw new AppError('INVALID_INPUT', {
        userMessage: 'The day doesn’t fit. Nothing was saved.',
        fields: { askedOn: `Choose a day from ${first}, when the quiz began, to today.` },
      })
    await keepAppeal(tx, actor, attempt, input)
  })
}

async function keepAppeal(
  tx: Tx,
  actor: Actor,
  attempt: { id: string; countyId: string; form: unknown; finishedAt: Date | null },
  input: { questionId: string; text: string; askedOn: CivilDate | null },
): Promise<void> {
  const at = systemClock.now()
  const { questionId, text, askedOn } = input
  if (!attempt.finishedAt || !(attempt.form as Form).questionIds.includes(questionId))
    throw new AppError('NOT_FOUND', {
      userMessage: 'This question is not in that quiz.',
      userMessageEs: 'Esa pregunta no está en este examen.',
    })
  if (text.length < 5)
    throw new AppError('INVALID_INPUT', {
      userMessage: 'Please say in a few words what is wrong with the question.',
      userMessageEs: 'Diga en pocas palabras qué está mal en la pregunta.',
      fields: { text: 'A few words are enough.' },
    })
  const key = { attemptId: attempt.id, questionId }
  if (await tx.appeal.findUnique({ where: { attemptId_questionId: key } }))
    throw new AppError('CONFLICT', {
      userMessage: askedOn
        ? 'An appeal of this person against this question was entered before.'
        : 'You already asked us to look at this question.',
      userMessageEs: 'Usted ya nos pidió que revisáramos esta pregunta.',
    })
  const appeal = await tx.appeal.create({
    data: {
      ...key,
      countyId: attempt.countyId,
      text,
      askedOn,
      enteredBy: actor.accountId,
      enteredAt: at,
    },
  })
  await appendAudit(
    tx,
    { chain: attempt.countyId, actorAccountId: actor.accountId, at },
    {
      event: 'appeal.entered',
      subject: `attempt:${attempt.id}`,
      detail: { appealId: appeal.id, questionId, ...(askedOn ? { askedOn } : {}) },
    },
  )
}

export const RejectInput = z.object({
  countyId: z.string().max(60),
  appealId: z.uuid(),
  why: z.string().trim().min(5, 'Say in a few words why. The person reads it.').max(500),
})

/** The question stands, and the person reads why. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function rejectAppeal(actor: Actor, input: z.output<typeof RejectInput>): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    assertCan(actor, 'decideQuizzes', input.countyId)
    const appeal = await tx.appeal.findFirst({ where: { id: input.appealId, countyId: input.countyId } })
    if (!appeal) throw new AppError('NOT_FOUND', { userMessage: 'There is no such appeal.' })
    if (appeal.decision)
      throw new AppError('CONFLICT', { userMessage: 'This appeal is already decided. Load the page again.' })
    await decide(tx, actor.accountId, at, appeal, 'rejected', input.why)
    await tellOfAppeal(tx, at, appeal.id)
  })
}

/** Writes the decision of an appeal and its audit record, in the caller's transaction. */
export async function decide(
  tx: Tx,
  accountId: string,
  at: Date,
  appeal: { id: string; countyId: string; attemptId: string; questionId: string },
  decision: 'upheld' | 'rejected',
  decisionText: string,
) {
  await tx.appeal.update({
    where: { id: appeal.id },
    data: { decision, decisionText, decidedBy: accountId, decidedAt: at },
  })
  await appendAudit(
    tx,
    { chain: appeal.countyId, actorAccountId: accountId, at },
    {
      event: 'appeal.decided',
      subject: `attempt:${appeal.attemptId}`,
      detail: { appealId: appeal.id, questionId: appeal.questionId, decision },
    },
  )
}
