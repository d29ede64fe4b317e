import type { Tx } from '@/lib/db/client'

/** Puts a job in the queue inside the caller's transaction: it runs if, and only if, the change is kept.
 *  `jobKey` makes it the only waiting job of that key. */
export async function enqueue(
  tx: Tx,
  task: string,
  payload: Record<string, unknown>,
  options: { jobKey?: string; maxAttempts?: number } = {},
): Promise<void> {
  await tx.$executeRaw`SELECT graphile_worker.add_job(
    ${task}, payload := ${JSON.stringify(payload)}::json,
    job_key := ${options.jobKey ?? null}, max_attempts := ${options.maxAttempts ?? 5})`
}
