import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import { Tag } from '@/app/ui/notice'
import type { ExclusionRow } from '@/lib/people/queries-history'
import { dateText } from '../../../../parts/words'
import { excludeAction, takeBackExclusionAction } from './actions'
import { TakeBack } from './take-back'

const KINDS: Record<string, string> = {
  candidate: 'is a candidate',
  relative: 'is a relative of a candidate',
  conflict: 'has a conflict of interest',
}

const daysOf = (row: ExclusionRow) =>
  row.lastOn === row.firstOn
    ? `on ${dateText(row.firstOn)}`
    : `from ${dateText(row.firstOn)} ${row.lastOn ? `to ${dateText(row.lastOn)}` : 'on, without an end'}`

/** When and where somebody may not serve. */
export const Exclusions = ({
  county,
  workerId,
  rows,
  mayChange,
  next,
}: {
  county: string
  workerId: string
  rows: ExclusionRow[]
  mayChange: boolean
  next: { heldOn: string } | null
}) => (
  <section aria-labelledby="exclusions">
    <h2 id="exclusions">May not serve</h2>
    {rows.length === 0 && <p className="quiet">No exclusion is noted.</p>}
    <ul className="picks">
      {rows.map((row) => (
        <li key={row.id}>
          <div>
            <span className={row.takenBackOn ? 'revoked' : undefined}>
              {KINDS[row.kind]}, {daysOf(row)}, {row.place ? `only at ${row.place}` : 'at every place'}
            </span>
            {row.note && <span className="quiet"> ({row.note})</span>}
            {row.takenBackOn && ` (taken back on ${dateText(row.takenBackOn)})`}
            {next &&
              !row.takenBackOn &&
              row.firstOn <= next.heldOn &&
              (row.lastOn === null || next.heldOn <= row.lastOn) && (
                <>
                  {' '}
                  <Tag kind="warn">covers the next election day</Tag>
                </>
              )}
          </div>
          {mayChange && !row.takenBackOn && (
            <TakeBack
              action={takeBackExclusionAction}
              county={county}
              workerId={workerId}
              id={row.id}
              what={`“${KINDS[row.kind]}”`}
            />
          )}
        </li>
      ))}
    </ul>
    {mayChange && (
      <ActionForm action={excludeAction} id="exclude" fold="Note an exclusion" className="panel">
        <input type="hidden" name="countyId" value={county} />
        <input type="hidden" name="workerId" value={workerId} />
        <div className="form-grid">
          <Choice name="kind" label="The person" options={Object.entries(KINDS)} />
          <Field name="placeCode" label="Only at the place with the code" hint="Empty: at every place." />
          <Field name="firstOn" label="First day" type="date" defaultValue={next?.heldOn} />
          <Field name="lastOn" label="Last day" type="date" hint="Empty: until it is taken back." />
          <Field name="note" label="Why" hint="Your office’s words; the person may read them." />
        </div>
        <button type="submit">Note it</button>
      </ActionForm>
    )}
  </section>
)
