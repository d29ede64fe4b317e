import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { enqueue } from '@/lib/queue/enqueue'
import { Id } from '@/lib/scenarios/schema'
import type { Prisma, QuizWork } from '@/prisma/client/client'
import { SILENT_AFTER_MS } from './queries-work'

/** Long work on a quiz (its statistics, a re-mark), from the button to its end. */

/** The queue's name of each kind. */
export const WORK_TASKS = { statistics: 'quiz-statistics', remark: 're-mark-quiz' } as const
export type WorkKind = keyof typeof WORK_TASKS

/** Somebody asked for the work to stop. */
export class StoppedWork extends Error {}

/** Puts work in the queue. Null: the same kind of work on this quiz is under way already. */
export async function beginWork(
  tx: Tx,
  actor: Actor,
  at: Date,
  work: { countyId: string; quizKey: string; kind: WorkKind; order?: object },
): Promise<string | null> {
  const { countyId, quizKey, kind, order = {} } = work
  // Two clicks at once make one.
  await tx.$executeRaw`SELECT pg_advisory_xact_lock(hashtext(${`quiz work ${countyId} ${quizKey} ${kind}`}))`
  await tx.quizWork.updateMany({
    where: {
      countyId,
      quizKey,
      kind,
      status: 'running',
      heartbeatAt: { lt: new Date(at.getTime() - SILENT_AFTER_MS) },
    },
    data: { status: 'failed', finishedAt: at },
  })
  const where = {
    countyId,
    quizKey,
    kind,
    status: { in: ['queued', 'running'] },
  } satisfies Prisma.QuizWorkWhereInput
  if (await tx.quizWork.findFirst({ where })) return null
  await tx.quizWork.deleteMany({ where: { countyId, quizKey, kind } })
  const { id } = await tx.quizWork.create({
    data: { countyId, quizKey, kind, order, requestedBy: actor.accountId, createdAt: at },
  })
  // One attempt: what died is shown as ended, and a person decides whether to start it again.
  await enqueue(
    tx,
    WORK_TASKS[kind],
    { workId: id },
    { jobKey: `${WORK_TASKS[kind]}:${id}`, maxAttempts: 1, countyId },
  )
  return id
}

export const StopWorkInput = z.object({
  countyId: z.string().max(60),
  quizKey: Id,
  kind: z.enum(['statistics', 'remark']),
})

/** Asks work to stop. What still waits ends at once; what runs, at its next step. Figures are derived: stopping them is
 *  not audited. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function stopWork(actor: Actor, input: z.output<typeof StopWorkInput>): Promise<void> {
  const { countyId, quizKey, kind } = input
  assertCan(actor, kind === 'remark' ? 'decideQuizzes' : 'readQuizzes', countyId)
  const at = systemClock.now()
  const over = () =>
    new AppError('CONFLICT', {
      userMessage: 'Nothing is under way any more. Load the page again to see what came of it.',
    })
  await transaction(async (tx) => {
    const where = {
      countyId,
      quizKey,
      kind,
      status: { in: ['queued', 'running'] },
    } satisfies Prisma.QuizWorkWhereInput
    const work = await tx.quizWork.findFirst({ where })
    if (!work) throw over()
    // First the audit's lock, then the row's: a re-mark takes them in this order too when it ends.
    if (kind === 'remark')
      await appendAudit(
        tx,
        { chain: countyId, actorAccountId: actor.accountId, at },
        { event: 'quiz.re-mark-stopped', subject: `quiz:${quizKey}`, detail: { workId: work.id } },
      )
    const queued = await tx.quizWork.updateMany({
      where: { id: work.id, status: 'queued' },
      data: { status: 'cancelled', cancelAsked: true, finishedAt: at },
    })
    const running = await tx.quizWork.updateMany({
      where: { id: work.id, status: 'running' },
      data: { cancelAsked: true },
    })
    if (queued.count + running.count === 0) throw over()
  })
}

/** Takes waiting work for this process. Null when it was taken or stopped before. */
export async function claimWork(workId: string): Promise<QuizWork | null> {
  return transaction(async (tx) => {
    const { count } = await tx.quizWork.updateMany({
      where: { id: workId, status: 'queued' },
      data: { status: 'running', heartbeatAt: systemClock.now(), stage: 'reading', progress: 0.01 },
    })
    return count === 0 ? null : tx.quizWork.findUniqueOrThrow({ where: { id: workId } })
  })
}

/** A sign of life with the progress (0 to 1). False: stop. */
export async function reportWork(
  workId: string,
  progress: { stage: string; share: number },
): Promise<boolean> {
  return transaction(async (tx) => {
    const { count } = await tx.quizWork.updateMany({
      where: { id: workId, status: 'running', cancelAsked: false },
      data: { heartbeatAt: systemClock.now(), stage: progress.stage, progress: progress.share },
    })
    return count === 1
  })
}

/** Ends work that is under way; what ended before stays as it ended. In the caller's transaction it is true only if what
 *  was done is kept. False: it was ended or stopped meanwhile. */
export async function endWork(
  tx: Tx,
  workId: string,
  how: { status: 'done' | 'failed' | 'cancelled'; failure?: string },
): Promise<boolean> {
  const { count } = await tx.quizWork.updateMany({
    where: {
      id: workId,
      status: { in: ['queued', 'running'] },
      ...(how.status === 'done' ? { cancelAsked: false } : {}),
    },
    data: {
      ...how,
      finishedAt: systemClock.now(),
      stage: 'ended',
      ...(how.status === 'done' ? { progress: 1 } : {}),
    },
  })
  return count === 1
}
