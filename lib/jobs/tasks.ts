import type { TaskList } from 'graphile-worker'
import { z } from 'zod'
import { sendNotice } from '@/lib/notices/send'

const NoticeJob = z.object({ id: z.uuid() })

/** Everything that the job runner runs. A task that throws is tried again later; each is safe to run twice. */
export const tasks: TaskList = {
  'send-notice': async (payload) => {
    await sendNotice(NoticeJob.parse(payload).id)
  },
}
