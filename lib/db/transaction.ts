import { setTimeout as pause } from 'node:timers/promises'
import { AppError } from '@/lib/kernel/errors'
import { Prisma } from '@/prisma/client/client'
import { db, type Tx } from './client'

const RETRIES = 4

/** Serialization conflicts and deadlocks: the work can simply be done again. */
const isConflict = (error: unknown): boolean =>
  error instanceof Prisma.PrismaClientKnownRequestError &&
  (error.code === 'P2034' || /40001|40P01/.test(JSON.stringify(error.meta ?? {})))

/** The constraint that a unique violation names, or null. With the adapter it is not in `meta.target`. */
export function violatedConstraint(error: unknown): string | null {
  if (!(error instanceof Prisma.PrismaClientKnownRequestError) || error.code !== 'P2002') return null
  const cause = (error.meta as { driverAdapterError?: { cause?: { constraint?: unknown } } } | undefined)
    ?.driverAdapterError?.cause
  return JSON.stringify(cause?.constraint ?? error.meta ?? 'unknown')
}

/** One transaction, tried again a few times when others were in the way. `work` must have no effect outside it.
 *  `timeoutMs` is for the few that write a whole county. @throws AppError CONFLICT when a unique rule of the database
 *  refuses. */
export async function transaction<T>(
  work: (tx: Tx) => Promise<T>,
  options: { timeoutMs?: number } = {},
): Promise<T> {
  for (let attempt = 0; ; attempt++) {
    try {
      return await db().$transaction(work, options.timeoutMs ? { timeout: options.timeoutMs } : undefined)
    } catch (error) {
      if (isConflict(error) && attempt < RETRIES) {
        await pause(20 * 2 ** attempt * (0.5 + Math.random()))
        continue
      }
      if (violatedConstraint(error) !== null)
        throw new AppError('CONFLICT', {
          userMessage:
            'Somebody saved this at the same moment. Load the page again and look before you repeat it.',
          cause: error,
        })
      throw error
    }
  }
}
