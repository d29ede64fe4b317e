import { z } from 'zod'
import { appendAudit, STATE_CHAIN } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { findJob, stateOf } from './queries'

export const JobInput = z.object({ jobId: z.string().regex(/^\d{1,18}$/) })

const gone = () =>
  new AppError('CONFLICT', {
    userMessage: 'This job is no longer in the queue: it has run meanwhile, or somebody removed it.',
  })

/** Lets a job run again now, with all its attempts. One that has lost its process is taken from it first: every task is
 *  safe to run twice. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function retryJob(actor: Actor, countyId: string | null, jobId: string): Promise<void> {
  const at = systemClock.now()
  assertCan(actor, 'retryJobs', countyId)
  await transaction(async (tx) => {
    const job = await findJob(tx, countyId, jobId)
    if (!job) throw gone()
    const state = stateOf(job, at)
    if (state === 'running') throw new AppError('CONFLICT', { userMessage: 'This job is running right now.' })
    if (state === 'stuck')
      await tx.$executeRaw`SELECT graphile_worker.force_unlock_workers(ARRAY[${job.locked_by}]::text[])`
    const rows = await tx.$queryRaw<{ id: bigint }[]>`
      SELECT id FROM graphile_worker.reschedule_jobs(ARRAY[${jobId}::bigint], run_at := now(), attempts := 0)`
    if (rows.length === 0) throw gone()
    await appendAudit(
      tx,
      { chain: countyId ?? STATE_CHAIN, actorAccountId: actor.accountId, at },
      { event: 'job.retried', subject: `job:${jobId}`, detail: { task: job.task_identifier } },
    )
  })
}

/** Takes a job that failed for good out of the queue. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function removeJob(actor: Actor, countyId: string | null, jobId: string): Promise<void> {
  const at = systemClock.now()
  assertCan(actor, 'retryJobs', countyId)
  await transaction(async (tx) => {
    const job = await findJob(tx, countyId, jobId)
    if (!job) throw gone()
    if (stateOf(job, at) !== 'failed')
      throw new AppError('CONFLICT', { userMessage: 'Only a job that has failed can be removed.' })
    await tx.$executeRaw`SELECT graphile_worker.complete_jobs(ARRAY[${jobId}::bigint])`
    await appendAudit(
      tx,
      { chain: countyId ?? STATE_CHAIN, actorAccountId: actor.accountId, at },
      { event: 'job.removed', subject: `job:${jobId}`, detail: { task: job.task_identifier } },
    )
  })
}
