import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db, type Tx } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { Prisma } from '@/prisma/client/client'
import { countyFlag } from './enqueue'

export const JOBS_PAGE = 100
/** A job that has been running for longer has probably lost its process. */
export const STUCK_AFTER_MS = 15 * 60_000

export type JobState = 'failed' | 'stuck' | 'running' | 'retrying' | 'queued' | 'later'

export interface JobSummary {
  id: string
  task: string
  state: JobState
  attempts: number
  maxAttempts: number
  createdAt: Date
  /** When it may run (next). */
  runAt: Date
  lockedAt: Date | null
  /** The first line of why it failed last. */
  lastError: string | null
  countyId: string | null
}

export interface JobRow {
  id: bigint
  task_identifier: string
  attempts: number
  max_attempts: number
  run_at: Date
  locked_at: Date | null
  locked_by: string | null
  last_error: string | null
  created_at: Date
  flags: Record<string, boolean> | null
}

export function stateOf(row: JobRow, at: Date): JobState {
  if (row.locked_at) return at.getTime() - row.locked_at.getTime() > STUCK_AFTER_MS ? 'stuck' : 'running'
  if (row.attempts >= row.max_attempts) return 'failed'
  if (row.attempts > 0) return 'retrying'
  return row.run_at > at ? 'later' : 'queued'
}

/** What of the queue an office may see: a county its own jobs, the state office all. */
export const scopeOf = (countyId: string | null): Prisma.Sql =>
  countyId === null ? Prisma.sql`true` : Prisma.sql`flags ? ${countyFlag(countyId)}`

export interface TimedTaskSummary {
  name: string
  startedAt: Date
  finishedAt: Date | null
  said: string | null
  failed: boolean
}

export interface JobsView {
  counts: Record<JobState, number>
  /** Failed and stuck first, then running, then by when they may run. */
  jobs: JobSummary[]
  timed: TimedTaskSummary[]
}

/** The queue as an office sees it. Jobs that are done are gone from it: what they did is on the pages that asked for
 *  them. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listJobs(actor: Actor, countyId: string | null): Promise<JobsView> {
  assertCan(actor, 'readJobs', countyId)
  const at = systemClock.now()
  const [rows, timed] = await Promise.all([
    db().$queryRaw<JobRow[]>`
      SELECT id, task_identifier, attempts, max_attempts, run_at, locked_at, locked_by, last_error, created_at, flags
      FROM graphile_worker.jobs WHERE ${scopeOf(countyId)}`,
    db().timedTask.findMany({ orderBy: { name: 'asc' } }),
  ])
  const order: JobState[] = ['failed', 'stuck', 'running', 'retrying', 'queued', 'later']
  const jobs = rows.map((row) => ({
    id: String(row.id),
    task: row.task_identifier,
    state: stateOf(row, at),
    attempts: row.attempts,
    maxAttempts: row.max_attempts,
    createdAt: row.created_at,
    runAt: row.run_at,
    lockedAt: row.locked_at,
    lastError: row.last_error?.split('\n')[0]?.slice(0, 300) ?? null,
    countyId:
      Object.keys(row.flags ?? {})
        .find((flag) => flag.startsWith('county:'))
        ?.slice('county:'.length) ?? null,
  }))
  const counts = Object.fromEntries(
    order.map((state) => [state, jobs.filter((job) => job.state === state).length]),
  ) as Record<JobState, number>
  jobs.sort(
    (a, b) => order.indexOf(a.state) - order.indexOf(b.state) || a.runAt.getTime() - b.runAt.getTime(),
  )
  return { counts, jobs: jobs.slice(0, JOBS_PAGE), timed }
}

/** One job in an office's scope, or null. */
export async function findJob(tx: Tx, countyId: string | null, jobId: string): Promise<JobRow | null> {
  const [row] = await tx.$queryRaw<JobRow[]>`
    SELECT id, task_identifier, attempts, max_attempts, run_at, locked_at, locked_by, last_error, created_at, flags
    FROM graphile_worker.jobs WHERE id = ${jobId}::bigint AND ${scopeOf(countyId)}`
  return row ?? null
}
