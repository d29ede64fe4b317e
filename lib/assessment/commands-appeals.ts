import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { recordFact } from '@/lib/certification/commands'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { ownAttemptOrThrow } from '@/lib/scenarios/queries'
import { Id } from '@/lib/scenarios/schema'
import type { Prisma } from '@/prisma/client/client'
import { mendsFor } from './core/mend'
import { mendKey, planRemark, type RemarkOutcome, type RemarkPlan, versionOrThrow } from './queries-appeals'
import { mendsOf } from './queries-mends'
import type { Form } from './schema'

const json = (value: unknown) => value as Prisma.InputJsonValue

export const AppealInput = z.object({
  attemptId: z.uuid(),
  questionId: Id,
  text: z.string().trim().max(1000),
})

/** Says that a question of one's own marked quiz is wrong. One appeal a question.
 *  @throws AppError NOT_FOUND, INVALID_INPUT, CONFLICT */
export async function enterAppeal(actor: Actor, input: z.output<typeof AppealInput>): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    const attempt = await ownAttemptOrThrow(tx, actor, input.attemptId, 'quiz', 'lock')
    if (!attempt.finishedAt || !(attempt.form as unknown as Form).questionIds.includes(input.questionId))
      throw new AppError('NOT_FOUND', {
        userMessage: 'This question is not in that quiz.',
        userMessageEs: 'Esa pregunta no está en este examen.',
      })
    if (input.text.length < 5)
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Please say in a few words what is wrong with the question.',
        userMessageEs: 'Diga en pocas palabras qué está mal en la pregunta.',
      })
    const key = { attemptId: attempt.id, questionId: input.questionId }
    if (await tx.appeal.findUnique({ where: { attemptId_questionId: key } }))
      throw new AppError('CONFLICT', {
        userMessage: 'You already asked us to look at this question.',
        userMessageEs: 'Usted ya nos pidió que revisáramos esta pregunta.',
      })
    const appeal = await tx.appeal.create({
      data: {
        ...key,
        countyId: attempt.countyId,
        text: input.text,
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
        detail: { appealId: appeal.id, questionId: input.questionId },
      },
    )
  })
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
    await decide(tx, actor, at, appeal, 'rejected', input.why)
  })
}

async function decide(
  tx: Tx,
  actor: Actor,
  at: Date,
  appeal: { id: string; countyId: string; attemptId: string; questionId: string },
  decision: 'upheld' | 'rejected',
  decisionText: string,
) {
  await tx.appeal.update({
    where: { id: appeal.id },
    data: { decision, decisionText, decidedBy: actor.accountId, decidedAt: at },
  })
  await appendAudit(
    tx,
    { chain: appeal.countyId, actorAccountId: actor.accountId, at },
    {
      event: 'appeal.decided',
      subject: `attempt:${appeal.attemptId}`,
      detail: { appealId: appeal.id, questionId: appeal.questionId, decision },
    },
  )
}

export const RemarkInput = z.object({
  countyId: z.string().max(60),
  quizKey: Id,
  questionId: Id,
  version: z.coerce.number().int().min(1),
  mend: z.string().max(120),
  /** The mark of the plan that was shown. */
  expected: z.string().max(80),
  reason: z.string().trim().min(5, 'Say in a few words what was wrong. People read it.').max(500),
})

/** Mends a question for everybody in the county who had it: results change as they were shown, passes follow as facts (new
 *  ones revoke old ones), its open appeals are upheld, and it is not drawn again before it has a new version.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT where something changed since it was shown */
export async function applyRemark(
  actor: Actor,
  input: z.output<typeof RemarkInput>,
): Promise<{ changed: number }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const { countyId, quizKey, questionId, version } = input
    assertCan(actor, 'decideQuizzes', countyId)
    // One re-mark of a county at a time; sittings handed in meanwhile are seen by the mark.
    await tx.$executeRaw`SELECT 1 FROM "County" WHERE id = ${countyId} FOR UPDATE`
    const county = await tx.county.findUniqueOrThrow({ where: { id: countyId } })
    const question = await versionOrThrow(tx, countyId, quizKey, questionId, version)
    const mend = mendsFor(question).find((each) => mendKey(each) === input.mend)
    if (!mend) throw new AppError('NOT_FOUND', { userMessage: 'There is no such way to mend it.' })
    const known = await mendsOf(tx, countyId, quizKey)
    if (known.some((m) => m.questionId === questionId && m.questionVersion === version))
      throw new AppError('CONFLICT', { userMessage: 'This question was already re-marked.' })
    const plan = await planRemark(tx, countyId, quizKey, { questionId, questionVersion: version, mend })
    if (plan.mark !== input.expected)
      throw new AppError('CONFLICT', {
        userMessage:
          'Somebody finished the quiz since this page was shown, so other results change too. Load the page again and look before you apply it.',
      })
    const outcome: RemarkOutcome = {
      attempts: plan.attempts,
      changes: plan.changes.map(({ attemptId, before, after }) => ({ attemptId, before, after })),
    }
    const row = await tx.remark.create({
      data: {
        countyId,
        quizKey,
        questionId,
        questionVersion: version,
        mend: json(mend),
        reason: input.reason,
        outcome: json(outcome),
        appliedBy: actor.accountId,
        appliedAt: at,
      },
    })
    const today = civilDateAt(at, county.timeZone)
    for (const change of plan.changes) await changeResult(tx, actor, at, today, row.id, input, change)
    const appeals = await tx.appeal.findMany({
      where: { countyId, questionId, decision: null, attempt: { key: quizKey } },
    })
    for (const appeal of appeals) await decide(tx, actor, at, appeal, 'upheld', input.reason)
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      {
        event: 'quiz.re-marked',
        subject: `quiz:${quizKey}`,
        detail: {
          remarkId: row.id,
          questionId,
          mend: mendKey(mend),
          attempts: plan.attempts,
          changed: plan.changes.length,
        },
      },
    )
    return { changed: plan.changes.length }
  })
}

/** One person's new result. A pass whose score changed, or that is none any more, is revoked from today; a pass is recorded
 *  for the day on which the quiz was sat. */
async function changeResult(
  tx: Tx,
  actor: Actor,
  at: Date,
  today: CivilDate,
  remarkId: string,
  input: z.output<typeof RemarkInput>,
  change: RemarkPlan['changes'][number],
): Promise<void> {
  const { attemptId, pollWorkerId, result } = change
  const attempt = await tx.attempt.update({
    where: { id: attemptId },
    data: { scoreFraction: result.scoreFraction, passed: result.passed, result: json(result) },
    include: {
      pollWorker: { include: { county: true } },
      paperEntries: { orderBy: { round: 'desc' }, take: 1 },
    },
  })
  const facts = await tx.fact.findMany({
    where: { pollWorkerId, onceKey: { startsWith: `attempt:${attemptId}` } },
    orderBy: { recordedAt: 'asc' },
  })
  const revoked = await tx.fact.findMany({ where: { revokesFactId: { in: facts.map((f) => f.id) } } })
  const standing = facts.filter((f) => !revoked.some((r) => r.revokesFactId === f.id)).at(-1)
  const by = { accountId: actor.accountId, at }
  const common = { countyId: input.countyId, workerId: pollWorkerId }
  if (standing)
    await recordFact(tx, by, {
      ...common,
      kind: 'revocation',
      topic: input.reason,
      on: today,
      revokes: standing.id,
    })
  if (result.passed) {
    const end = attempt.dueAt && attempt.dueAt < attempt.finishedAt! ? attempt.dueAt : attempt.finishedAt!
    const satOn =
      (standing?.happenedOn as CivilDate | undefined) ??
      (attempt.paperEntries[0]?.satOn as CivilDate | undefined) ??
      civilDateAt(end, attempt.pollWorker.county.timeZone)
    await recordFact(tx, by, {
      ...common,
      kind: 'quizPassed',
      topic: input.quizKey,
      on: satOn,
      scoreFraction: result.scoreFraction,
      equipmentProfile: attempt.equipmentProfile,
      onceKey: `attempt:${attemptId}:${remarkId}`,
    })
  }
  await appendAudit(
    tx,
    { chain: input.countyId, actorAccountId: actor.accountId, at },
    {
      event: 'attempt.re-marked',
      subject: `attempt:${attemptId}`,
      detail: { remarkId, scoreFraction: result.scoreFraction, passed: result.passed },
    },
  )
}
