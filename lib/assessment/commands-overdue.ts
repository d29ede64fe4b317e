import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { definitionOf } from '@/lib/scenarios/queries'
import { finishQuiz, isDue } from './commands'

const BATCH = 200

/** Hands in every quiz whose time and grace are over, with the answers that there are; on a pass the fact follows, dated
 *  when the time ended. Each in a transaction of its own, so that one that fails holds up no other, and twice at once
 *  hands in once. Returns how many were handed in. @throws the first failure, after all others were tried. */
export async function closeOverdueQuizzes(at: Date): Promise<number> {
  const open = await db().attempt.findMany({
    where: { kind: 'quiz', finishedAt: null, dueAt: { lt: at } },
    orderBy: { dueAt: 'asc' },
    take: BATCH,
    select: { id: true },
  })
  let closed = 0
  let failure: unknown
  for (const { id } of open)
    try {
      closed += await transaction(async (tx) => {
        await tx.$executeRaw`SELECT 1 FROM "Attempt" WHERE id = ${id}::uuid FOR UPDATE`
        const attempt = await tx.attempt.findUniqueOrThrow({
          where: { id },
          include: { pollWorker: { include: { county: true } } },
        })
        if (attempt.finishedAt || !isDue(attempt, at)) return 0
        const definition = await definitionOf(tx, attempt.definitionHash)
        await finishQuiz(tx, null, { ...attempt, definition }, at)
        return 1
      })
    } catch (error) {
      failure ??= error
    }
  if (failure) throw failure
  return closed
}
