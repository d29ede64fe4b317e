import { keepStatistics } from '@/lib/assessment/commands-statistics'
import { claimWork, endWork, reportWork, StoppedWork } from '@/lib/assessment/commands-work'
import {
  type QuizReport,
  type QuizReportInput,
  quizReport,
  type ReportStep,
} from '@/lib/assessment/core/quiz-report'
import { readSittings } from '@/lib/assessment/queries-statistics'
import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { log } from '@/lib/web/log'
import { runInThread } from './thread'

const ENTRY = new URL('./statistics-entry.ts', import.meta.url)
const BEAT_MS = 1000
/** Up to so many sittings are worked out in the runner itself: starting a thread takes longer. */
const SMALL = 100

export interface StatisticsProgress {
  step: ReportStep
  share: number
}

/** Works out a quiz's statistics in a thread and keeps them. It says every second how far it is and looks whether somebody
 *  asked it to stop; stopped or failed, the earlier figures stay. A second delivery of the same job does nothing.
 *  `entry` is for tests. */
export async function computeStatistics(workId: string, entry = ENTRY): Promise<void> {
  const work = await claimWork(workId)
  if (!work) return
  const { countyId, quizKey } = work
  const abort = new AbortController()
  const progress = { stage: 'reading', share: 0.01 }
  const beat = setInterval(() => {
    reportWork(workId, { ...progress })
      .then((goOn) => goOn || abort.abort())
      .catch((error: unknown) => log.warn({ err: error }, 'statistics could not report'))
  }, BEAT_MS)
  try {
    const input = await readSittings(countyId, quizKey)
    if (!(await reportWork(workId, progress))) throw new StoppedWork()
    const report =
      input.sittings.length <= SMALL
        ? quizReport(input)
        : await runInThread<QuizReport, StatisticsProgress>(
            entry,
            { input },
            {
              signal: abort.signal,
              graceMs: 0,
              onProgress: ({ step, share }) =>
                Object.assign(progress, { stage: step, share: 0.1 + 0.88 * share }),
            },
          )
    await transaction(async (tx) => {
      if (!(await endWork(tx, workId, { status: 'done' }))) throw new StoppedWork()
      await keepStatistics(tx, countyId, quizKey, report)
    })
  } catch (error) {
    if (error instanceof StoppedWork || abort.signal.aborted) {
      await endWork(db(), workId, { status: 'cancelled' })
      return
    }
    log.error({ workId, err: error }, 'statistics failed')
    await endWork(db(), workId, {
      status: 'failed',
      failure: `The figures could not be worked out. Try again; if it goes on, tell your administrator this number: ${workId.slice(-8)}`,
    })
  } finally {
    clearInterval(beat)
  }
}

export type StatisticsWork = { input: QuizReportInput }
