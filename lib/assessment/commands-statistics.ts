import type { Actor } from '@/lib/auth/actor'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import type { Prisma } from '@/prisma/client/client'
import { beginWork } from './commands-work'
import type { QuizReport } from './core/quiz-report'
import { designOrThrow } from './queries'
import { quizCountyOrThrow } from './queries-statistics'

/** Asks the job runner to work a quiz's statistics out (anew). Asked twice, it is done once. Nothing of record changes, so
 *  nothing is audited. @throws AppError NOT_FOUND, FORBIDDEN */
export async function askForStatistics(actor: Actor, countyId: string, quizKey: string): Promise<void> {
  await quizCountyOrThrow(actor, countyId)
  designOrThrow(quizKey)
  await transaction((tx) =>
    beginWork(tx, actor, systemClock.now(), { countyId, quizKey, kind: 'statistics' }),
  )
}

/** Replaces the derived figures of a quiz. For the job. */
export async function keepStatistics(
  tx: Tx,
  countyId: string,
  quizKey: string,
  report: QuizReport,
): Promise<void> {
  const row = {
    computedAt: systemClock.now(),
    attempts: report.sittings,
    result: report as unknown as Prisma.InputJsonValue,
  }
  await tx.quizStatistics.upsert({
    where: { countyId_quizKey: { countyId, quizKey } },
    create: { countyId, quizKey, ...row },
    update: row,
  })
}
