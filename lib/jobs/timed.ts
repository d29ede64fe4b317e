import { closeOverdueQuizzes } from '@/lib/assessment/commands-overdue'
import { purgeSignIns } from '@/lib/auth/purge'
import { REBUILD } from '@/lib/certification/commands-rules'
import { remindOfClasses } from '@/lib/classes/commands-remind'
import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { dropForgotten } from '@/lib/exchange/commands'
import { systemClock } from '@/lib/kernel/clock'
import { giveUpLostSendings } from '@/lib/notices/send'
import { remindOfOffers } from '@/lib/offers/commands-send'
import { enqueue } from '@/lib/queue/enqueue'

/** What runs by the clock (UTC): five fields as cron has them, and the task's name. Any number of job runners share one
 *  clock: each time runs once. `fill` makes up for one that was missed while nothing ran. */
export const CRONTAB = [
  '10 3 * * * purge-sign-ins ?fill=1d&jobKey=purge-sign-ins&max=3',
  '25 3 * * * drop-forgotten-imports ?fill=1d&jobKey=drop-forgotten-imports&max=3',
  '40 3 * * * check-spans ?fill=1d&jobKey=check-spans&max=3',
  '*/5 * * * * give-up-lost-mail ?jobKey=give-up-lost-mail&max=3',
  '*/15 * * * * close-overdue-quizzes ?jobKey=close-overdue-quizzes&max=3',
  '20 15 * * * remind-of-offers ?fill=12h&jobKey=remind-of-offers&max=3',
  '5 * * * * remind-of-classes ?fill=3h&jobKey=remind-of-classes&max=3',
].join('\n')

const people = (n: number, one: string, many: string) => `${n} ${n === 1 ? one : many}`

/** Each does its work and says what it did, in one sentence. */
const WORK: Record<string, () => Promise<string>> = {
  'purge-sign-ins': async () =>
    `Removed ${people(await purgeSignIns(systemClock.now()), 'row', 'rows')} of old sign-ins, codes and limits.`,
  'drop-forgotten-imports': async () =>
    `Deleted ${people(await dropForgotten(systemClock.now()), 'file', 'files')} that nobody applied within 30 days.`,
  'close-overdue-quizzes': async () =>
    `Handed in ${people(await closeOverdueQuizzes(systemClock.now()), 'quiz', 'quizzes')} whose time was over.`,
  'give-up-lost-mail': async () =>
    `Marked ${people(await giveUpLostSendings(systemClock.now()), 'message', 'messages')} as uncertain: whoever sent them ended meanwhile.`,
  'remind-of-classes': async () =>
    `Wrote ${people(await remindOfClasses(systemClock.now()), 'reminder', 'reminders')} of classes.`,
  'remind-of-offers': async () =>
    `Wrote ${people(await remindOfOffers(systemClock.now()), 'reminder', 'reminders')} of offers without an answer.`,
  'check-spans': async () => {
    const counties = await db().county.findMany({ select: { id: true } })
    await transaction(async (tx) => {
      for (const { id } of counties) await enqueueRebuild(tx, id)
    })
    return `Asked for ${people(counties.length, 'county', 'counties')} to be compared with facts and rules.`
  },
}

const enqueueRebuild = (tx: Parameters<typeof enqueue>[0], countyId: string) =>
  enqueue(tx, REBUILD, { countyId }, { jobKey: `${REBUILD}:${countyId}`, countyId })

/** The timed tasks, each of which writes down when it ran and what came of it. */
export const timedTasks = Object.fromEntries(
  Object.entries(WORK).map(([name, work]) => [name, () => noted(name, work)]),
)

async function noted(name: string, work: () => Promise<string>): Promise<void> {
  const begin = { startedAt: systemClock.now(), finishedAt: null, said: null, failed: false }
  await db().timedTask.upsert({ where: { name }, create: { name, ...begin }, update: begin })
  const end = (said: string, failed: boolean) =>
    db().timedTask.update({ where: { name }, data: { finishedAt: systemClock.now(), said, failed } })
  try {
    await end(await work(), false)
  } catch (error) {
    await end((error as Error).message.split('\n')[0]!.slice(0, 300), true)
    throw error
  }
}
