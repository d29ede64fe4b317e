import { keepStatistics } from '@/lib/assessment/commands-statistics'
import { type QuizReport, type QuizReportInput, quizReport } from '@/lib/assessment/core/quiz-report'
import { readSittings } from '@/lib/assessment/queries-statistics'
import { runInThread } from './thread'

const ENTRY = new URL('./statistics-entry.ts', import.meta.url)
/** Up to so many sittings are worked out in the runner itself: starting a thread takes longer. */
const SMALL = 100
const LONGEST_MS = 30 * 60_000

/** Works out a quiz's statistics in a thread and keeps them. Safe to run twice. */
export async function computeStatistics(countyId: string, quizKey: string): Promise<void> {
  const input = await readSittings(countyId, quizKey)
  const report =
    input.sittings.length <= SMALL
      ? quizReport(input)
      : await runInThread<QuizReport, never>(
          ENTRY,
          { input },
          { onProgress: () => undefined, signal: AbortSignal.timeout(LONGEST_MS) },
        )
  await keepStatistics(countyId, quizKey, report)
}

export type StatisticsWork = { input: QuizReportInput }
