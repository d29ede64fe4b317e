import { ActionForm, Tick } from '@/app/ui/action-form'
import { Empty, Figures, Notice, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { env } from '@/lib/env'
import {
  type BatchView,
  getBatchOrThrow,
  getsLetter,
  type ReminderRow,
  type ReminderState,
} from '@/lib/reminders/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../parts/office-page'
import { count } from '../../../../parts/words'
import { markReturnedAction, recordCallAction } from '../actions'
import { ReadAgain } from './read-again'

export const metadata = { title: 'A batch of reminders' }

/** Of those who need nothing more, as many as a page can bear. */
const SHOWN = 200

const STATES: Record<ReminderState, [words: string, kind: 'info' | 'good' | 'warn' | 'bad']> = {
  waiting: ['… e-mail waits', 'info'],
  sent: ['✓ e-mail sent', 'good'],
  refused: ['✕ e-mail refused', 'bad'],
  unsent: ['✕ e-mail not sent: no mail server', 'bad'],
  uncertain: ['? e-mail may not have arrived', 'warn'],
  letter: ['✉ letter', 'info'],
  returned: ['✕ letter came back', 'bad'],
  unreachable: ['✕ no e-mail, no address', 'bad'],
}
const CALLS: Record<string, string> = {
  reached: 'reached',
  'left-message': 'left a message',
  'no-answer': 'no answer',
  'wrong-number': 'wrong number',
}

export default async function BatchPage({ params }: { params: Promise<{ county: string; batch: string }> }) {
  const { county, batch: id } = await params
  const actor = await requireActor(`/office/${county}/reminders/${id}`)
  const batch = await orNotFound(getBatchOrThrow(actor, county, id))
  const toReach = batch.rows.filter((row) => row.toReach)
  const others = batch.rows.filter((row) => !row.toReach)
  const inState = (state: ReminderState) => batch.rows.filter((row) => row.state === state).length
  const when = instants(batch)
  return (
    <OfficePage
      title={`Reminders of ${when.format(batch.createdAt)}`}
      crumbs={[
        { href: `/office/${county}`, name: batch.county.name },
        { href: `/office/${county}/reminders`, name: 'Reminders' },
      ]}
    >
      <p>Asked for by {batch.by}.</p>
      {!batch.finishedAt && (
        <Notice>
          <ReadAgain />
          <p role="status">
            Being written: {count(batch.rows.length, 'person', 'people')} so far. You can leave this page; it
            goes on.
          </p>
        </Notice>
      )}
      {!env().SMTP_URL && batch.mail > 0 && (
        <Notice kind="warn">
          <p>
            No mail server is set (SMTP_URL), so no e-mail leaves the house. Whoever has an address gets a
            letter instead; call the others.
          </p>
        </Notice>
      )}
      <Figures
        items={[
          { name: 'e-mails sent', value: inState('sent') },
          { name: 'waiting', value: inState('waiting') },
          { name: 'refused or not sent', value: inState('refused') + inState('unsent') },
          ...(inState('uncertain') > 0 ? [{ name: 'uncertain', value: inState('uncertain') }] : []),
          { name: 'letters', value: inState('letter') },
          { name: 'letters came back', value: inState('returned') },
          { name: 'written to before, left out', value: batch.skipped },
        ]}
      />
      {batch.printable > 0 && (
        <p>
          <a className="button" data-kind="main" href={`/office/${county}/reminders/${id}/letters.pdf`}>
            {count(batch.printable, 'letter', 'letters')} as PDF
          </a>{' '}
          <span className="quiet">
            One page each, made for window envelopes; also to those whose e-mail was refused, not sent or may
            not have arrived.
          </span>
        </p>
      )}
      <section aria-labelledby="to-reach">
        <h2 id="to-reach">Still to reach: {toReach.length}</h2>
        {toReach.length === 0 ? (
          <Empty>
            <p>Nobody: no e-mail was refused, no letter came back, or they were reached by phone.</p>
          </Empty>
        ) : (
          toReach.map((row) => <Person key={row.id} row={row} county={county} batch={batch} open />)
        )}
      </section>
      {others.length > 0 && (
        <section aria-labelledby="others">
          <h2 id="others">Everybody else in this batch: {others.length}</h2>
          {others.slice(0, SHOWN).map((row) => (
            <Person key={row.id} row={row} county={county} batch={batch} />
          ))}
          {others.length > SHOWN && (
            <p>{count(others.length - SHOWN, 'more person is', 'more people are')} not shown.</p>
          )}
        </section>
      )}
    </OfficePage>
  )
}

const instants = (batch: BatchView) =>
  new Intl.DateTimeFormat('en-US', {
    dateStyle: 'medium',
    timeStyle: 'short',
    timeZone: batch.county.timeZone,
  })

const Person = ({
  row,
  county,
  batch,
  open = false,
}: {
  row: ReminderRow
  county: string
  batch: BatchView
  open?: boolean
}) => (
  <div className="panel">
    <p>
      <a href={`/office/${county}/people/${row.workerId}`}>
        <strong>{row.name}</strong>
      </a>{' '}
      <span className="quiet small">{row.countyRef}</span>{' '}
      <Tag kind={STATES[row.state][1]}>{STATES[row.state][0]}</Tag>
      {open && row.phone && <> Phone: {row.phone}</>}
      {open && !row.phone && <> No phone number is known.</>}
    </p>
    {row.why && (
      <p className="small">{row.state === 'refused' ? `The mail server said: ${row.why}` : row.why}</p>
    )}
    {row.calls.map((call) => (
      <p className="small" key={call.at.toISOString()}>
        Called {instants(batch).format(call.at)} by {call.by}: {CALLS[call.outcome] ?? call.outcome}
        {call.note && `. ${call.note}`}
      </p>
    ))}
    <div className="row">
      <details className="more">
        <summary>
          A call was made<span className="only-heard"> to {row.name}</span>
        </summary>
        <ActionForm action={recordCallAction}>
          <input type="hidden" name="workerId" value={row.workerId} />
          <fieldset>
            <legend>How did it go?</legend>
            {Object.entries(CALLS).map(([value, words]) => (
              <label className="choice" key={value}>
                <Tick type="radio" name="outcome" value={value} required />
                {words}
              </label>
            ))}
          </fieldset>
          <div className="field">
            <label htmlFor={`note-${row.id}`}>Note (kept; no health or party matters)</label>
            <input id={`note-${row.id}`} name="note" maxLength={300} autoComplete="off" />
          </div>
          <button type="submit">Record the call</button>
        </ActionForm>
      </details>
      {getsLetter(row) && (
        <details className="more">
          <summary>
            The letter came back<span className="only-heard"> from {row.name}</span>
          </summary>
          <ActionForm action={markReturnedAction}>
            <input type="hidden" name="reminderId" value={row.id} />
            <button type="submit">Mark it as returned</button>
          </ActionForm>
        </details>
      )}
    </div>
  </div>
)
