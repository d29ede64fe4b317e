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

/** How a job says whose it is. */
export const countyFlag = (countyId: string): string => `county:${countyId}`
