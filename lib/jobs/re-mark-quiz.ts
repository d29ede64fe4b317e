import { RemarkInput, writeRemark } from '@/lib/assessment/commands-remark'
import { claimWork, endWork, reportWork, StoppedWork } from '@/lib/assessment/commands-work'
import { db } from '@/lib/db/client'
import { AppError } from '@/lib/kernel/errors'
import { log } from '@/lib/web/log'

const BEAT_MS = 1000

/** Re-marks a quiz as it was ordered: all of it or nothing. It says every second how far it is and looks whether somebody
 *  asked it to stop; stopped, failed or cut off, everything is as it was. A second delivery of the same job does nothing.
 *  `beforeStep` is for tests. */
export async function remarkQuiz(
  workId: string,
  beforeStep: (stage: string) => void | Promise<void> = () => undefined,
): Promise<void> {
  const work = await claimWork(workId)
  if (!work) return
  const progress = { stage: 'marking', share: 0.01 }
  let stopped = false
  const beat = setInterval(() => {
    reportWork(workId, { ...progress })
      .then((goOn) => {
        stopped ||= !goOn
      })
      .catch((error: unknown) => log.warn({ err: error }, 'a re-mark could not report'))
  }, BEAT_MS)
  try {
    await writeRemark(workId, work.requestedBy, RemarkInput.parse(work.order), async (stage, share) => {
      await beforeStep(stage)
      if (stopped) throw new StoppedWork()
      Object.assign(progress, { stage, share })
    })
  } catch (error) {
    if (error instanceof StoppedWork) {
      await endWork(db(), workId, { status: 'cancelled' })
      return
    }
    if (!(error instanceof AppError)) log.error({ workId, err: error }, 'a re-mark failed')
    await endWork(db(), workId, {
      status: 'failed',
      failure:
        error instanceof AppError
          ? error.userMessage
          : `It failed, and nothing was changed. Try again; if it goes on, tell your administrator this number: ${workId.slice(-8)}`,
    })
  } finally {
    clearInterval(beat)
  }
}
