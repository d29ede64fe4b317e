import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import type { PairRow } from '@/lib/people/queries-history'
import { dateText } from '../../../../parts/words'
import { pairAction, takeBackPairAction } from './actions'
import { TakeBack } from './take-back'

const KINDS = { together: 'together with', apart: 'apart from' }

/** With whom somebody is to serve in one crew, and with whom not. */
export const Pairs = ({
  county,
  workerId,
  rows,
  mayChange,
}: {
  county: string
  workerId: string
  rows: PairRow[]
  mayChange: boolean
}) => (
  <section aria-labelledby="pairs">
    <h2 id="pairs">Together with, or apart from</h2>
    {rows.length === 0 && <p className="quiet">No pair is noted.</p>}
    <ul className="picks">
      {rows.map((row) => (
        <li key={row.id}>
          <div>
            <span className={row.takenBackOn ? 'revoked' : undefined}>
              {KINDS[row.kind]} <a href={`/office/${county}/people/${row.other.id}`}>{row.other.name}</a>
            </span>{' '}
            <span className="quiet small">{row.other.countyRef}</span>
            {row.note && <span className="quiet"> ({row.note})</span>}
            {row.takenBackOn
              ? ` (taken back on ${dateText(row.takenBackOn)})`
              : !row.other.active && ' – not active now, so rosters pass over it'}
          </div>
          {mayChange && !row.takenBackOn && (
            <TakeBack
              action={takeBackPairAction}
              county={county}
              workerId={workerId}
              id={row.id}
              what={`“${KINDS[row.kind]} ${row.other.name}”`}
            />
          )}
        </li>
      ))}
    </ul>
    {mayChange && (
      <ActionForm action={pairAction} id="pair" fold="Note a pair" className="panel">
        <input type="hidden" name="countyId" value={county} />
        <input type="hidden" name="workerId" value={workerId} />
        <p>
          A crew is all who serve in one place on one day. “Fill the seats” keeps to a pair where it can
          without leaving a seat empty; the board lists those that a roster misses.
        </p>
        <div className="form-grid">
          <Choice
            name="kind"
            label="This person is to serve"
            options={[
              ['together', 'in one crew with'],
              ['apart', 'apart from'],
            ]}
          />
          <Field
            name="otherRef"
            label="Number of the other person"
            hint="It stands in the list of people, and on their page under “Who it is”."
          />
          <Field name="note" label="Why" hint="Your office’s words; both may read them, so name nobody." />
        </div>
        <button type="submit">Note it</button>
      </ActionForm>
    )}
  </section>
)
