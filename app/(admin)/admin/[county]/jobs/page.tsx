import { ActionForm } from '@/app/ui/action-form'
import { Empty, Figures, Notice, TableBox, Tag } from '@/app/ui/notice'
import { can } from '@/lib/auth/permissions'
import { getOffice } from '@/lib/auth/queries'
import { requireActor } from '@/lib/auth/session'
import { JOBS_PAGE, type JobState, type JobSummary, listJobs } from '@/lib/queue/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { AdminPage } from '../../../parts/admin-page'
import { Instant } from '../../../parts/instant'
import { countyIdOf } from '../../../parts/office'
import { removeJobAction, retryJobAction } from './actions'

export const metadata = { title: 'Jobs' }

const STATES: Record<JobState, [words: string, kind: 'info' | 'good' | 'warn' | 'bad']> = {
  failed: ['✕ failed', 'bad'],
  stuck: ['! running for very long', 'warn'],
  running: ['▸ running', 'good'],
  retrying: ['↻ tried, waits for its next try', 'warn'],
  queued: ['… waits its turn', 'info'],
  later: ['… waits for its time', 'info'],
}

const TASKS: Record<string, string> = {
  'send-notice': 'Send one message',
  'fill-roster': 'Fill the seats of an election',
  'quiz-statistics': 'Work out the statistics of a quiz',
  'rebuild-spans': 'Compute who is certified when',
  'write-reminders': 'Write a batch of reminders',
  'purge-sign-ins': 'Remove old sign-ins and codes',
  'close-overdue-quizzes': 'Hand in quizzes whose time is over',
  'remind-of-classes': 'Remind people of their classes',
  'check-spans': 'Compare certificates with facts and rules',
  'send-offers': 'Send offers of seats',
  'remind-of-offers': 'Remind people of offers',
  import: 'Write an imported file',
  'drop-forgotten-imports': 'Delete imported files that nobody applied',
  'likely-pairs': 'Look for people who are on file twice',
  'make-papers': 'Make papers for an election',
  'give-up-lost-mail': 'Mark messages whose fate nobody knows',
}
const taskName = (task: string) => TASKS[task] ?? task

export default async function JobsPage({ params }: { params: Promise<{ county: string }> }) {
  const { county } = await params
  const countyId = countyIdOf(county)
  const actor = await requireActor(`/admin/${county}/jobs`)
  const { counts, jobs, timed } = await orNotFound(listJobs(actor, countyId))
  const office = await orNotFound(getOffice(actor, countyId))
  const mayRetry = can(actor, 'retryJobs', countyId)
  const waiting = counts.queued + counts.retrying + counts.later
  return (
    <AdminPage actor={actor} countyId={countyId} office={office.name} title="Jobs" here="jobs">
      <p className="lead">
        What the job runner has still to do for this office. A job that is done leaves the list.
      </p>
      {counts.failed > 0 && (
        <Notice kind="bad">
          <p>
            {counts.failed === 1 ? 'One job has' : `${counts.failed} jobs have`} failed after several tries.
            Read why below, mend the cause, then let it run again.
          </p>
        </Notice>
      )}
      <Figures
        items={[
          { name: 'failed', value: counts.failed },
          { name: 'running', value: counts.running + counts.stuck },
          { name: 'waiting', value: waiting },
        ]}
      />
      {jobs.length === 0 ? (
        <Empty>
          <p>Nothing waits, nothing failed.</p>
        </Empty>
      ) : (
        jobs.map((job) => <Job key={job.id} job={job} county={county} office={office} mayRetry={mayRetry} />)
      )}
      {jobs.length === JOBS_PAGE && <p>Only the first {JOBS_PAGE} are shown.</p>}
      <section aria-labelledby="timed">
        <h2 id="timed">By the clock</h2>
        <p>These run by themselves, once each time, however many job runners there are.</p>
        {timed.length === 0 ? (
          <Empty>
            <p>None has run yet: the first comes within a quarter of an hour.</p>
          </Empty>
        ) : (
          <TableBox label="Timed tasks">
            <table>
              <thead>
                <tr>
                  <th scope="col">Task</th>
                  <th scope="col">Last run</th>
                  <th scope="col">What came of it</th>
                </tr>
              </thead>
              <tbody>
                {timed.map((task) => (
                  <tr key={task.name}>
                    <th scope="row">{taskName(task.name)}</th>
                    <td>
                      <Instant at={task.startedAt} timeZone={office.timeZone} />
                    </td>
                    <td>
                      {task.failed && <Tag kind="bad">✕ failed</Tag>}{' '}
                      {task.said ?? (task.finishedAt ? '' : 'running, or its process ended')}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </TableBox>
        )}
      </section>
    </AdminPage>
  )
}

const Job = ({
  job,
  county,
  office,
  mayRetry,
}: {
  job: JobSummary
  county: string
  office: { timeZone: string }
  mayRetry: boolean
}) => (
  <article className="panel" aria-labelledby={`job-${job.id}`}>
    <h2 id={`job-${job.id}`}>{taskName(job.task)}</h2>
    <p>
      <Tag kind={STATES[job.state][1]}>{STATES[job.state][0]}</Tag> Asked for{' '}
      <Instant at={job.createdAt} timeZone={office.timeZone} />
      {job.attempts > 0 && `, try ${job.attempts} of ${job.maxAttempts}`}
      {(job.state === 'retrying' || job.state === 'later') && (
        <>
          , next <Instant at={job.runAt} timeZone={office.timeZone} />
        </>
      )}
      {job.lockedAt && (
        <>
          , since <Instant at={job.lockedAt} timeZone={office.timeZone} />
        </>
      )}
      .
    </p>
    {job.lastError && <p>Why it failed: {job.lastError}</p>}
    {job.state === 'stuck' && (
      <p>Its process may have ended. If no job runner works on it any more, let it run again.</p>
    )}
    {mayRetry && job.state !== 'running' && (
      <div className="row">
        <ActionForm action={retryJobAction}>
          <input type="hidden" name="county" value={county} />
          <input type="hidden" name="jobId" value={job.id} />
          <button type="submit">Run it now</button>
        </ActionForm>
        {job.state === 'failed' && (
          <ActionForm action={removeJobAction}>
            <input type="hidden" name="county" value={county} />
            <input type="hidden" name="jobId" value={job.id} />
            <button type="submit" data-kind="bad">
              Take it out of the queue
            </button>
          </ActionForm>
        )}
      </div>
    )}
  </article>
)
