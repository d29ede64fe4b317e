import { ActionForm } from '@/app/ui/action-form'
import { Figures, Notice, Tag } from '@/app/ui/notice'
import { milesText } from '@/lib/kernel/miles'
import { groupReasons } from '@/lib/roster/empty-reasons'
import type { RunOutcome } from '@/lib/roster/outcome'
import type { ElectionHead, RunView } from '@/lib/roster/queries'
import { count } from '../../../../parts/words'
import { fillSeatsAction, stopRunAction } from './actions'
import { RunProgress } from './run-progress'

/** The optimiser's run: its button, its progress, what it found. */
export function RunPanel({
  head,
  newest,
  done,
  empty,
}: {
  head: ElectionHead
  newest: RunView | null
  done: RunView | null
  empty: number
}) {
  const active = newest?.status === 'queued' || newest?.status === 'running'
  const ids = (
    <>
      <input type="hidden" name="electionId" value={head.id} />
      <input type="hidden" name="countyId" value={head.countyId} />
    </>
  )
  const base = `/office/${head.countyId}/elections/${head.id}`
  return (
    <section className="panel" aria-labelledby="run">
      <h2 id="run">Fill the seats</h2>
      <p className="only-heard" role="status">
        {newsOf(newest)}
      </p>
      {active ? (
        <>
          <RunProgress
            address={`${base}/run`}
            start={{
              status: newest.status,
              stage: newest.stage,
              progress: newest.progress,
              cancelAsked: newest.cancelAsked,
              waitedSeconds: newest.waitedSeconds,
            }}
          />
          <p className="quiet">
            You can go on working. Changing the roster by hand while a run is under way makes the run end
            without effect.
          </p>
          {head.mayChange && !newest.cancelAsked && (
            <ActionForm action={stopRunAction}>
              {ids}
              <button type="submit" data-kind="bad">
                Stop the run
              </button>
            </ActionForm>
          )}
        </>
      ) : (
        <>
          {newest?.status === 'failed' && (
            <Notice kind="bad">
              <p>{newest.failure}</p>
            </Notice>
          )}
          {newest?.status === 'cancelled' && (
            <Notice kind="warn">
              <p>The last run was stopped. The roster is as it was before.</p>
            </Notice>
          )}
          {!head.mayChange && (
            <p>Your account may look at the roster. County staff, such as the clerk, can fill the seats.</p>
          )}
          {head.mayChange && (
            <>
              <p>
                Seats certified people only, the most important seats first, then with the least travel.
                Locked seats stay as they are.
              </p>
              <ActionForm action={fillSeatsAction}>
                {ids}
                <button type="submit" data-kind="main">
                  {done ? 'Fill the seats again' : 'Fill the seats'}
                </button>
              </ActionForm>
            </>
          )}
        </>
      )}
      {done?.outcome && (
        <details open={!active && newest?.id === done.id}>
          <summary>What the last finished run found</summary>
          <Figures
            items={[
              { name: `of ${done.outcome.seats} seats filled`, value: done.outcome.filled },
              { name: 'travel, one way, all together', value: milesText(done.outcome.travelKm) },
              { name: 'seconds it took', value: secondsOf(done.outcome.seconds) },
            ]}
          />
          {done.outcome.overParty > 0 && (
            <Notice kind="warn">
              <p>
                The run left {count(done.outcome.overParty, 'crew')} with more of one party than your county
                allows. The board names those that still are; move somebody, then publish. A run goes by the
                balance under{' '}
                <a href={`/office/${head.countyId}/service#wishes`}>What a roster should keep to</a>.
              </p>
            </Notice>
          )}
          <Proven outcome={done.outcome} />
          <WhyEmpty outcome={done.outcome} base={base} />
        </details>
      )}
      {empty > 0 && done?.outcome && done.outcome.training.length > 0 && (
        <p className="row">
          <a className="button" href={`${base}/training`}>
            Whom to train next
          </a>
          <span>
            {count(done.outcome.training.length, 'training')} would fill{' '}
            {done.outcome.filledWithTraining > done.outcome.filled
              ? count(done.outcome.filledWithTraining - done.outcome.filled, 'more seat')
              : 'seats of positions that come first'}
            .
          </span>
        </p>
      )}
    </section>
  )
}

/** Level by level what is proven and what is not; told by words and mark, not by colour alone. */
const Proven = ({ outcome }: { outcome: RunOutcome }) => (
  <ul className="proven">
    {outcome.levels.length > 0
      ? outcome.levels.map((level) => (
          <li key={level.title}>
            <Tag kind={level.proven ? 'good' : 'warn'}>{level.proven ? 'proven' : 'not proven'}</Tag>{' '}
            <b>{level.title}.</b> {level.sentence}
          </li>
        ))
      : outcome.proof.map((sentence) => <li key={sentence}>{sentence}</li>)}
    {outcome.notes.map((note) => (
      <li key={note}>{note}</li>
    ))}
  </ul>
)

/** What is heard when a run has ended while the page was open: the element stays, its words change. */
const newsOf = (run: RunView | null): string => {
  if (run?.status === 'done' && run.outcome)
    return `The last run has finished: it filled ${run.outcome.filled} of ${run.outcome.seats} seats.`
  if (run?.status === 'failed') return 'The run has failed.'
  return run?.status === 'cancelled' ? 'The run was stopped.' : ''
}

const MOST_REASONS = 4

/** Why seats stay empty, the commonest reason first. */
const WhyEmpty = ({ outcome, base }: { outcome: RunOutcome; base: string }) => {
  const reasons = groupReasons(outcome.empty)
  if (reasons.length === 0) return null
  return (
    <>
      <h3>Why {count(outcome.empty.length, 'seat stays', 'seats stay')} empty</h3>
      <ul>
        {reasons.slice(0, MOST_REASONS).map(({ reason, seats }) => (
          <li key={reason}>
            {seats > 1 && <b>{seats} seats: </b>}
            {reason}
          </li>
        ))}
        {reasons.length > MOST_REASONS && <li>and {count(reasons.length - MOST_REASONS, 'other reason')}</li>}
      </ul>
      <p>
        <a href={`${base}?show=empty#crews`}>Each empty seat with its reason</a>
      </p>
    </>
  )
}

const secondsOf = (s: { load: number; solve: number; plan: number; write: number }) =>
  (s.load + s.solve + s.plan + s.write).toFixed(1)
