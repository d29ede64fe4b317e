import { z } from 'zod'
import { appendAudit, appendAudits } from '@/lib/audit/append'
import type { AuditEvent } from '@/lib/audit/events'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { type NewFact, recordFacts } from '@/lib/certification/commands'
import { updateRows } from '@/lib/db/bulk'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { enqueue } from '@/lib/queue/enqueue'
import { Id } from '@/lib/scenarios/schema'
import type { Prisma } from '@/prisma/client/client'
import { decide } from './commands-appeals'
import { TELL_OF_REMARK } from './commands-tell'
import { beginWork, endWork, StoppedWork } from './commands-work'
import { mendsFor } from './core/mend'
import { mendKey, planRemark, type RemarkOutcome, type RemarkPlan, versionOrThrow } from './queries-appeals'
import { lockMarking, mendsOf } from './queries-mends'

const json = (value: unknown) => value as Prisma.InputJsonValue

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

export type RemarkOrder = z.output<typeof RemarkInput>

/** What a mend is, and whose result it changes as things are now: the same that was shown, or a refusal.
 *  @throws AppError NOT_FOUND, CONFLICT where something changed since it was shown */
async function planOrThrow(tx: Tx, order: RemarkOrder, onShare?: (share: number) => void | Promise<void>) {
  const { countyId, quizKey, questionId, version } = order
  const question = await versionOrThrow(tx, countyId, quizKey, questionId, version)
  const mend = mendsFor(question).find((each) => mendKey(each) === order.mend)
  if (!mend) throw new AppError('NOT_FOUND', { userMessage: 'There is no such way to mend it.' })
  const known = await mendsOf(tx, countyId, quizKey)
  if (known.some((m) => m.questionId === questionId && m.questionVersion === version))
    throw new AppError('CONFLICT', { userMessage: 'This question was already re-marked.' })
  const plan = await planRemark(
    tx,
    countyId,
    quizKey,
    { questionId, questionVersion: version, mend },
    onShare,
  )
  if (plan.mark !== order.expected)
    throw new AppError('CONFLICT', {
      userMessage:
        'Somebody finished the quiz since this page was shown, so other results change too. Load the page again and look before you apply it.',
    })
  return { mend, plan }
}

/** Orders that a question is mended for everybody in the county who had it; the job runner does it (`writeRemark`).
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT where something changed since it was shown */
export async function orderRemark(actor: Actor, order: RemarkOrder): Promise<{ workId: string }> {
  const { countyId, quizKey } = order
  assertCan(actor, 'decideQuizzes', countyId)
  const at = systemClock.now()
  return transaction(async (tx) => {
    const { plan } = await planOrThrow(tx, order)
    const workId = await beginWork(tx, actor, at, { countyId, quizKey, kind: 'remark', order })
    if (!workId)
      throw new AppError('CONFLICT', {
        userMessage: 'Another question of this quiz is being re-marked. Wait until that is done.',
      })
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      {
        event: 'quiz.re-mark-asked',
        subject: `quiz:${quizKey}`,
        detail: {
          workId,
          questionId: order.questionId,
          mend: order.mend,
          changed: plan.changes.length,
        },
      },
    )
    return { workId }
  })
}

/** A re-mark writes a whole county at once: five thousand changed results in some seconds. */
const LONGEST_MS = 15 * 60_000

/** Mends a question for everybody in the county who had it, in one transaction, all or nothing: results change as they
 *  were shown, passes follow as facts (new ones revoke old ones), its open appeals are upheld, it is not drawn again before
 *  it has a new version, and who is concerned is told afterwards. Whoever hands in meanwhile waits and is marked by the
 *  mend. `onStep` is told how far it is; what it throws leaves everything as it was. For the job, which checked the rights
 *  when it was ordered. @throws AppError NOT_FOUND, CONFLICT; StoppedWork */
export async function writeRemark(
  workId: string,
  accountId: string,
  order: RemarkOrder,
  onStep: (stage: string, share: number) => void | Promise<void> = () => undefined,
): Promise<{ changed: number }> {
  const at = systemClock.now()
  const { countyId, quizKey, questionId, version, reason } = order
  return transaction(
    async (tx) => {
      await lockMarking(tx, countyId, 'alone')
      const county = await tx.county.findUniqueOrThrow({ where: { id: countyId } })
      const { mend, plan } = await planOrThrow(tx, order, (share) => onStep('marking', 0.4 * share))
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
          reason,
          outcome: json(outcome),
          appliedBy: accountId,
          appliedAt: at,
        },
      })
      await onStep('writing', 0.4)
      await updateRows(
        tx,
        'Attempt',
        plan.changes.map(({ attemptId, result }) => ({
          id: attemptId,
          scoreFraction: result.scoreFraction,
          passed: result.passed,
          result,
        })),
      )
      const facts = await factsAfter(tx, row.id, order, civilDateAt(at, county.timeZone), plan.changes)
      await recordFacts(tx, { accountId, at }, countyId, facts, (share) =>
        onStep('certificates', 0.5 + 0.4 * share),
      )
      await onStep('writing', 0.9)
      await appendAudits(
        tx,
        { chain: countyId, actorAccountId: accountId, at },
        plan.changes.map(
          ({ attemptId, after }): AuditEvent => ({
            event: 'attempt.re-marked',
            subject: `attempt:${attemptId}`,
            detail: { remarkId: row.id, ...after },
          }),
        ),
      )
      const appeals = await tx.appeal.findMany({
        where: { countyId, questionId, decision: null, attempt: { key: quizKey } },
      })
      for (const appeal of appeals) await decide(tx, accountId, at, appeal, 'upheld', reason)
      await enqueue(
        tx,
        TELL_OF_REMARK,
        { remarkId: row.id },
        { jobKey: `${TELL_OF_REMARK}:${row.id}`, countyId },
      )
      await appendAudit(
        tx,
        { chain: countyId, actorAccountId: accountId, at },
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
      // The figures were about the old results: they are worked out anew when somebody looks.
      await tx.quizStatistics.deleteMany({ where: { countyId, quizKey } })
      if (!(await endWork(tx, workId, { status: 'done' }))) throw new StoppedWork()
      return { changed: plan.changes.length }
    },
    { timeoutMs: LONGEST_MS },
  )
}

/** What the new results mean for the people's facts: a pass whose score changed, or that is none any more, is revoked from
 *  today; a pass is recorded for the day on which the quiz was sat. */
async function factsAfter(
  tx: Tx,
  remarkId: string,
  order: RemarkOrder,
  today: CivilDate,
  changes: RemarkPlan['changes'],
): Promise<Omit<NewFact, 'countyId'>[]> {
  const ids = changes.map((change) => change.attemptId)
  const attempts = await tx.attempt.findMany({
    where: { id: { in: ids } },
    select: {
      id: true,
      dueAt: true,
      finishedAt: true,
      equipmentProfile: true,
      pollWorker: { select: { county: { select: { timeZone: true } } } },
      paperEntries: { orderBy: { round: 'desc' }, take: 1, select: { satOn: true } },
    },
  })
  const attemptOf = new Map(attempts.map((attempt) => [attempt.id, attempt]))
  const passes = await tx.$queryRaw<{ id: string; attemptId: string; happenedOn: CivilDate }[]>`
    SELECT DISTINCT ON (split_part(f."onceKey", ':', 2))
           f.id, split_part(f."onceKey", ':', 2) AS "attemptId", f."happenedOn"
    FROM "Fact" f
    WHERE f."countyId" = ${order.countyId} AND f.kind = 'quizPassed' AND f."onceKey" LIKE 'attempt:%'
      AND split_part(f."onceKey", ':', 2) = ANY(${ids})
      AND NOT EXISTS (SELECT 1 FROM "Fact" r WHERE r."revokesFactId" = f.id)
    ORDER BY split_part(f."onceKey", ':', 2), f."recordedAt" DESC`
  const standingOf = new Map(passes.map((pass) => [pass.attemptId, pass]))
  return changes.flatMap(({ attemptId, pollWorkerId: workerId, result }) => {
    const attempt = attemptOf.get(attemptId)!
    const standing = standingOf.get(attemptId)
    const facts: Omit<NewFact, 'countyId'>[] = []
    if (standing)
      facts.push({ workerId, kind: 'revocation', topic: order.reason, on: today, revokes: standing.id })
    if (result.passed) {
      const end = attempt.dueAt && attempt.dueAt < attempt.finishedAt! ? attempt.dueAt : attempt.finishedAt!
      facts.push({
        workerId,
        kind: 'quizPassed',
        topic: order.quizKey,
        on:
          standing?.happenedOn ??
          (attempt.paperEntries[0]?.satOn as CivilDate | undefined) ??
          civilDateAt(end, attempt.pollWorker.county.timeZone),
        scoreFraction: result.scoreFraction,
        equipmentProfile: attempt.equipmentProfile,
        onceKey: `attempt:${attemptId}:${remarkId}`,
      })
    }
    return facts
  })
}
