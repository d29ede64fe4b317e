import type { TaskList } from 'graphile-worker'
import { z } from 'zod'
import { TELL_OF_REMARK, tellOfRemark } from '@/lib/assessment/commands-tell'
import { WORK_TASKS } from '@/lib/assessment/commands-work'
import { rebuildSpans } from '@/lib/certification/commands'
import { REBUILD } from '@/lib/certification/commands-rules'
import { sendNotice } from '@/lib/notices/send'
import { SEND_OFFERS, sendOffers } from '@/lib/offers/commands-send'
import { WRITE_REMINDERS, writeReminders } from '@/lib/reminders/commands'
import { fillRoster } from './fill-roster'
import { importFile } from './import-file'
import { findLikelyPairs } from './likely-pairs'
import { makePapers } from './make-papers'
import { computeStatistics } from './quiz-statistics'
import { remarkQuiz } from './re-mark-quiz'
import { timedTasks } from './timed'

const RunJob = z.object({ runId: z.uuid() })
const ImportJob = z.object({ importId: z.uuid() })
const QuizWorkJob = z.object({ workId: z.uuid() })
const RemarkJob = z.object({ remarkId: z.uuid() })
const OffersJob = z.object({ sendingId: z.uuid() })
const PapersJob = z.object({ orderId: z.uuid() })
const NoticeJob = z.object({ id: z.uuid() })
const BatchJob = z.object({ batchId: z.uuid() })
const CountyJob = z.object({ countyId: z.string().min(1) })

/** Everything that the job runner runs. A task that throws is tried again later; each is safe to run twice. */
export const tasks: TaskList = {
  'send-notice': async (payload) => {
    await sendNotice(NoticeJob.parse(payload).id)
  },
  [WORK_TASKS.statistics]: async (payload) => {
    await computeStatistics(QuizWorkJob.parse(payload).workId)
  },
  [WORK_TASKS.remark]: async (payload) => {
    await remarkQuiz(QuizWorkJob.parse(payload).workId)
  },
  [TELL_OF_REMARK]: async (payload) => {
    await tellOfRemark(RemarkJob.parse(payload).remarkId)
  },
  [REBUILD]: async (payload) => {
    await rebuildSpans(CountyJob.parse(payload).countyId, { compareOnly: false })
  },
  [WRITE_REMINDERS]: async (payload) => {
    await writeReminders(BatchJob.parse(payload).batchId)
  },
  [SEND_OFFERS]: async (payload) => {
    await sendOffers(OffersJob.parse(payload).sendingId)
  },
  ...timedTasks,
  'likely-pairs': async (payload) => {
    await findLikelyPairs(CountyJob.parse(payload).countyId)
  },
  import: async (payload) => {
    await importFile(ImportJob.parse(payload).importId)
  },
  'make-papers': async (payload) => {
    await makePapers(PapersJob.parse(payload).orderId)
  },
  'fill-roster': async (payload) => {
    await fillRoster(RunJob.parse(payload).runId)
  },
}
