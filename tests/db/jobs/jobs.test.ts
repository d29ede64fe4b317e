import { spawn } from 'node:child_process'
import { randomUUID } from 'node:crypto'
import { SMTPServer } from 'smtp-server'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { startQuiz } from '@/lib/assessment/commands'
import { closeOverdueQuizzes } from '@/lib/assessment/commands-overdue'
import { rebuildSpans } from '@/lib/certification/commands'
import { makeClass } from '@/lib/classes/commands'
import { bookClass, cancelBooking } from '@/lib/classes/commands-bookings'
import { remindOfClasses } from '@/lib/classes/commands-remind'
import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { childEnvironment, setEnv } from '@/lib/env'
import { addDays } from '@/lib/kernel/dates'
import { writeNotice } from '@/lib/notices/outbox'
import { sendNotice } from '@/lib/notices/send'
import { removeJob, retryJob } from '@/lib/queue/commands'
import { enqueue } from '@/lib/queue/enqueue'
import { listJobs } from '@/lib/queue/queries'
import { useDatabase } from '@/tests/support/database'
import { classInput, mailTo, makeTrainee, makeTrainingCounty, today } from '../classes/support'
import { makeActor } from '../scenarios/people'

const database = useDatabase()

const received: string[] = []
const server = new SMTPServer({
  disabledCommands: ['AUTH', 'STARTTLS'],
  onData(stream, session, done) {
    stream.resume()
    stream.on('end', () => {
      received.push(session.envelope.rcptTo[0]!.address)
      setTimeout(() => done(), 20)
    })
  },
})
let smtp = ''
let county: Awaited<ReturnType<typeof makeTrainingCounty>>
beforeAll(async () => {
  county = await makeTrainingCounty()
  await db().county.updateMany({ data: { settings: { quietHours: { from: '00:00', until: '00:00' } } } })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  smtp = `smtp://127.0.0.1:${(server.server.address() as { port: number }).port}`
})
afterAll(async () => {
  setEnv({ SMTP_URL: '' })
  await new Promise<void>((resolve) => server.close(() => resolve()))
})

const write = (address: string, kind: 'sign-in-code' | 'class-reminder' = 'sign-in-code') =>
  transaction((tx) =>
    writeNotice(tx, {
      kind,
      values: { code: '1', minutes: 1, office: '' } as never,
      to: { address, locale: 'en', accountId: null },
      countyId: 'larkmoor',
      at: new Date(),
    }),
  ) as Promise<string>
const waiting = async () =>
  (
    await db().$queryRaw<
      { n: number }[]
    >`SELECT count(*)::int AS n FROM graphile_worker.jobs WHERE run_at <= now()`
  )[0]!.n

/** A job runner as the product starts it, a process of its own. */
function startRunner(): { stop: () => Promise<void> } {
  const child = spawn(process.execPath, ['--import', 'tsx', 'lib/cli/run-jobs.ts'], {
    env: childEnvironment({ DATABASE_URL: database.url(), SMTP_URL: smtp, NODE_ENV: 'production' }),
    stdio: ['ignore', 'ignore', 'inherit'],
  })
  const ended = new Promise<void>((resolve) => child.once('exit', () => resolve()))
  return {
    stop: async () => {
      child.kill('SIGTERM')
      await ended
    },
  }
}

describe('the queue', () => {
  it('is done by two job runners on one database: each message once, each timed task noted', async () => {
    await db().$executeRaw`DELETE FROM "CertificateSpan"`
    for (let i = 0; i < 40; i++) await write(`m${i}@example.org`)
    await transaction(async (tx) => {
      for (const task of ['purge-sign-ins', 'close-overdue-quizzes', 'remind-of-classes', 'check-spans'])
        await enqueue(tx, task, {})
    })
    const runners = [startRunner(), startRunner()]
    await expect.poll(waiting, { timeout: 90_000, interval: 200 }).toBe(0)
    await expect.poll(() => db().timedTask.count({ where: { finishedAt: { not: null } } })).toBe(4)
    await Promise.all(runners.map((runner) => runner.stop()))
    expect([...received].sort()).toEqual(Array.from({ length: 40 }, (_, i) => `m${i}@example.org`).sort())
    expect(await db().timedTask.findMany({ orderBy: { name: 'asc' } })).toMatchObject([
      { name: 'check-spans', failed: false, said: expect.stringContaining('2 counties') },
      { name: 'close-overdue-quizzes', failed: false, said: 'Handed in 0 quizzes whose time was over.' },
      { name: 'purge-sign-ins', failed: false, said: expect.stringMatching(/^Removed \d+ rows?/) },
      { name: 'remind-of-classes', failed: false },
    ])
    expect(await rebuildSpans('larkmoor', { compareOnly: true })).toMatchObject({ changed: 0 })
  }, 120_000)

  it('shows a county its own jobs: what failed, why; an administrator lets it run again or removes it', async () => {
    const admin = await makeActor('administrator', 'larkmoor')
    const state = await makeActor('administrator', null)
    const id = await write('later@example.org')
    await transaction((tx) => enqueue(tx, 'fill-roster', { runId: randomUUID() }, { countyId: 'fennick' }))
    const broken = 'no route to the mail server\n    at a line of code'
    await db()
      .$executeRaw`UPDATE graphile_worker._private_jobs SET attempts = max_attempts, last_error = ${broken}
      WHERE key = ${`send-notice:${id}`}`
    const view = await listJobs(admin, 'larkmoor')
    expect(view.counts).toMatchObject({ failed: 1, queued: 0 })
    expect(view.jobs).toMatchObject([
      {
        task: 'send-notice',
        state: 'failed',
        lastError: 'no route to the mail server',
        countyId: 'larkmoor',
      },
    ])
    expect((await listJobs(state, null)).jobs.map((job) => job.countyId).sort()).toEqual([
      'fennick',
      'larkmoor',
    ])
    await expect(listJobs(admin, 'fennick')).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await expect(listJobs(county.trainer, 'larkmoor')).rejects.toMatchObject({ code: 'FORBIDDEN' })
    expect((await listJobs(county.clerk, 'larkmoor')).jobs).toHaveLength(1)

    const jobId = view.jobs[0]!.id
    await expect(retryJob(county.clerk, 'larkmoor', jobId)).rejects.toMatchObject({ code: 'FORBIDDEN' })
    const other = (await listJobs(state, null)).jobs.find((job) => job.countyId === 'fennick')!
    await expect(retryJob(admin, 'larkmoor', other.id)).rejects.toMatchObject({ code: 'CONFLICT' })
    await expect(removeJob(state, null, other.id)).rejects.toMatchObject({ code: 'CONFLICT' })
    await retryJob(admin, 'larkmoor', jobId)
    expect((await listJobs(admin, 'larkmoor')).jobs).toMatchObject([{ state: 'queued', attempts: 0 }])
    await db()
      .$executeRaw`UPDATE graphile_worker._private_jobs SET attempts = max_attempts WHERE id = ${BigInt(jobId)}`
    await removeJob(admin, 'larkmoor', jobId)
    expect((await listJobs(admin, 'larkmoor')).jobs).toEqual([])
    await expect(removeJob(admin, 'larkmoor', jobId)).rejects.toMatchObject({ code: 'CONFLICT' })
    const events = await db().auditRecord.findMany({ where: { subject: `job:${jobId}` } })
    expect(events.map((e) => e.event)).toEqual(['job.retried', 'job.removed'])
  })

  it('lets a job of a dead process run again, but none that runs', async () => {
    const admin = await makeActor('administrator', 'larkmoor')
    const id = await write('dead@example.org')
    const lock = (minutes: number) => db().$executeRaw`UPDATE graphile_worker._private_jobs
      SET locked_by = 'dead', locked_at = now() - make_interval(mins => ${minutes}::int), attempts = 1
      WHERE key = ${`send-notice:${id}`}`
    await lock(1)
    const [running] = (await listJobs(admin, 'larkmoor')).jobs
    expect(running).toMatchObject({ state: 'running' })
    await expect(retryJob(admin, 'larkmoor', running!.id)).rejects.toMatchObject({ code: 'CONFLICT' })
    await lock(20)
    expect((await listJobs(admin, 'larkmoor')).jobs).toMatchObject([{ state: 'stuck' }])
    await retryJob(admin, 'larkmoor', running!.id)
    expect((await listJobs(admin, 'larkmoor')).jobs).toMatchObject([{ state: 'queued', attempts: 0 }])
  })
})

describe('quiet hours', () => {
  it('hold back what can wait, and not a sign-in code', async () => {
    await db().county.update({
      where: { id: 'larkmoor' },
      data: { settings: { quietHours: { from: '00:00', until: '23:59' } } },
    })
    setEnv({ SMTP_URL: smtp })
    const before = received.length
    const reminder = await write('quiet@example.org', 'class-reminder')
    // Between 23:59 and midnight nothing is quiet: the test then has nothing to say.
    const outcome = await sendNotice(reminder)
    if (outcome.status !== 'sent') {
      expect(outcome).toMatchObject({ status: 'postponed', until: expect.any(Date) })
      const [job] = await db().$queryRaw<{ run_at: Date }[]>`
        SELECT run_at FROM graphile_worker.jobs WHERE key = ${`send-notice:${reminder}`}`
      expect(job!.run_at).toEqual((outcome as { until: Date }).until)
      expect(received).toHaveLength(before)
    }
    expect(await sendNotice(await write('code@example.org'))).toEqual({ status: 'sent' })
    setEnv({ SMTP_URL: '' })
    await db().county.updateMany({ data: { settings: { quietHours: { from: '00:00', until: '00:00' } } } })
  })
})

describe('what runs by the clock', () => {
  it('reminds everybody with a seat of a class within two days, once', async () => {
    const { classId } = await makeClass(
      county.trainer,
      classInput({ on: addDays(today(), 1), seats: '1', from: '00:01', until: '00:30' }),
    )
    const [a, b] = [await makeTrainee('seat@example.org'), await makeTrainee('waits@example.org')]
    await bookClass(a, classId)
    await bookClass(b, classId)
    const at = new Date()
    expect(await remindOfClasses(at)).toBe(1)
    const both = await Promise.all([remindOfClasses(at), remindOfClasses(at)])
    expect(both).toEqual([0, 0])
    expect((await mailTo('seat@example.org')).map((m) => m.kind)).toEqual(['class-booked', 'class-reminder'])
    expect((await mailTo('waits@example.org')).map((m) => m.kind)).toEqual(['class-waiting'])
    await cancelBooking(a, classId)
    expect(await remindOfClasses(at)).toBe(1)
  })

  it('hands in a quiz whose time is over, once, in nobody’s name', async () => {
    const a = await makeTrainee()
    const { attemptId } = await startQuiz(a, 'polls-basics', 'en')
    expect(await closeOverdueQuizzes(new Date())).toBe(0)
    const { dueAt } = await db().attempt.findUniqueOrThrow({ where: { id: attemptId } })
    const later = new Date(dueAt!.getTime() + 3_600_000)
    const counts = await Promise.all([closeOverdueQuizzes(later), closeOverdueQuizzes(later)])
    expect(counts.sort()).toEqual([0, 1])
    expect(await db().attempt.findUniqueOrThrow({ where: { id: attemptId } })).toMatchObject({
      finishedAt: later,
      passed: false,
    })
    const events = await db().auditRecord.findMany({
      where: { subject: `attempt:${attemptId}`, event: 'attempt.finished' },
    })
    expect(events).toMatchObject([{ actorAccountId: null }])
  })
})
