import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import { TableBox, Tag } from '@/app/ui/notice'
import type { CrewsPage, PlaceCrew } from '@/lib/crews/queries'
import { dollars } from '@/lib/people/pay'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { count, dateText } from '../../../parts/words'
import { changeCrewAction } from './actions'

const signed = (n: number) => (n > 0 ? `+${n}` : n < 0 ? `−${-n}` : '')

/** One place's crew: what the rules give, what hands changed, what is there. */
export const PlaceCrewPanel = ({
  county,
  crews,
  place,
}: {
  county: string
  crews: CrewsPage
  place: PlaceCrew
}) => (
  <details className="panel" id={place.code}>
    <summary>
      <span>
        {place.name} <span className="quiet small">{place.code}</span>: {count(place.seats, 'seat')}
        {place.costCents > 0 && `, ${dollars(place.costCents)}`}
        {place.rows.some((row) => row.byHand !== 0) && (
          <>
            {' '}
            <Tag>changed by hand</Tag>
          </>
        )}
        {place.rows.some((row) => row.present !== row.seats) && (
          <>
            {' '}
            <Tag kind="warn">differs from its seats</Tag>
          </>
        )}
      </span>
    </summary>
    <p>
      {place.registeredVoters.toLocaleString('en-US')} registered voters.{' '}
      <a href={`/office/${county}/places/${place.id}`}>The place</a>,{' '}
      <a href={`/office/${county}/crews/waiting?election=${crews.election.id}&place=${place.id}`}>
        how long voters would wait
      </a>
    </p>
    {place.rows.length === 0 ? (
      <p className="quiet">
        No rule gives this place seats. An early-voting site needs its days: enter its hours on the place’s
        page.
      </p>
    ) : (
      <TableBox label={`Crew of ${place.name}`}>
        <table>
          <thead>
            <tr>
              <th scope="col">Position</th>
              <th scope="col">Day and shift</th>
              <th scope="col">By the rules</th>
              <th scope="col">By hand</th>
              <th scope="col">Seats</th>
              <th scope="col">There now</th>
            </tr>
          </thead>
          <tbody>
            {place.rows.map((row) => (
              <tr key={`${row.position} ${row.on} ${row.shift}`}>
                <th scope="row">{row.positionName}</th>
                <td>
                  {dateText(row.on, 'short')}, {SHIFT_WORDS[row.shift] ?? row.shift}
                </td>
                <td>
                  {row.fromRules}
                  {row.legalMinimum > 0 && <span className="quiet small"> ({row.legalMinimum} by law)</span>}
                </td>
                <td>
                  {signed(row.byHand)} {row.reason && <span className="small">{row.reason}</span>}
                </td>
                <td>
                  <b>{row.seats}</b>
                </td>
                <td>{row.present}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </TableBox>
    )}
    {crews.mayChange && (
      <ActionForm action={changeCrewAction} id={`change-${place.code}`} fold="Change by hand">
        <input type="hidden" name="countyId" value={county} />
        <input type="hidden" name="electionId" value={crews.election.id} />
        <input type="hidden" name="placeId" value={place.id} />
        <div className="form-grid">
          <Choice
            name="positionKey"
            label="Position"
            options={crews.positions.map((p): [string, string] => [p.key, p.nameEn])}
          />
          <Field name="servesOn" label="Day" type="date" defaultValue={crews.election.heldOn} />
          <Choice name="shift" label="Shift" options={Object.entries(SHIFT_WORDS)} />
          <Field
            name="change"
            label="More or fewer seats"
            hint="1 is one more, -1 one fewer than the rules give; 0 takes the change back."
            inputMode="text"
          />
          <Field name="reason" label="Why" />
        </div>
        <button type="submit">Note the change</button>
      </ActionForm>
    )}
  </details>
)
