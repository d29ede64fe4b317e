import type { Tx } from '@/lib/db/client'

/** Puts a job in the queue inside the caller's transaction: it runs if, and only if, the change is kept.
 *  `jobKey` makes it the only waiting job of that key; `countyId` lets that county's administrators see it. */
export async function enqueue(
  tx: Tx,
  task: string,
  payload: Record<string, unknown>,
  options: { jobKey?: string; maxAttempts?: number; countyId?: string | null; runAt?: Date } = {},
): Promise<void> {
  const flags = options.countyId ? [countyFlag(options.countyId)] : null
  await tx.$executeRaw`SELECT graphile_worker.add_job(
    ${task}, payload := ${JSON.stringify(payload)}::json, run_at := ${options.runAt?.toISOString() ?? null}::timestamptz,
    job_key := ${options.jobKey ?? null}, max_attempts := ${options.maxAttempts ?? 5}, flags := ${flags}::text[])`
}

/** Puts many jobs of one task in the queue at once, each the only waiting job of its key. */
export async function enqueueAll(
  tx: Tx,
  task: string,
  jobs: readonly { payload: Record<string, unknown>; jobKey: string; countyId: string | null }[],
): Promise<void> {
  if (jobs.length === 0) return
  const rows = jobs.map(({ payload, jobKey, countyId }) => ({
    payload,
    jobKey,
    flags: countyId ? [countyFlag(countyId)] : null,
  }))
  await tx.$executeRaw`SELECT count(*) FROM graphile_worker.add_jobs(ARRAY(
    SELECT ROW(${task}, j.payload, NULL, NULL, 5, j."jobKey", NULL, j.flags)::graphile_worker.job_spec
    FROM json_to_recordset(${JSON.stringify(rows)}::json) j(payload json, "jobKey" text, flags text[])))`
}

/** How a job says whose it is. */
export const countyFlag = (countyId: string): string => `county:${countyId}`
