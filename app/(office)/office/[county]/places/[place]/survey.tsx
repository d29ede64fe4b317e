import { ActionForm, Field } from '@/app/ui/action-form'
import { TableBox, Tag } from '@/app/ui/notice'
import { MEASURES, type Measure } from '@/lib/places/core/access-survey'
import type { PlaceDetail } from '@/lib/places/queries'
import { count, dateText } from '../../../../parts/words'
import { recordSurveyAction } from '../actions'

const asked = (m: Measure) =>
  [m.atLeast !== undefined && `at least ${m.atLeast}`, m.atMost !== undefined && `at most ${m.atMost}`]
    .filter(Boolean)
    .join(', ')

const VERDICTS = {
  meets: ['meets it', 'good'],
  'falls-short': ['falls short', 'bad'],
  unknown: ['not measured', 'info'],
} as const

/** What was measured for access, against the numbers of the standard. */
export const Survey = ({ county, place, today }: { county: string; place: PlaceDetail; today: string }) => (
  <section aria-labelledby="access">
    <h2 id="access">Access survey</h2>
    {place.survey ? (
      <>
        <p>
          Measured on {dateText(place.survey.surveyedOn)}
          {place.surveys > 1 && ` (${count(place.surveys - 1, 'earlier survey')} kept)`}.
          {place.survey.note && ` ${place.survey.note}`}
        </p>
        <TableBox label="Access survey">
          <table>
            <thead>
              <tr>
                <th scope="col">Measure</th>
                <th scope="col">Found</th>
                <th scope="col">Asked</th>
                <th scope="col">Result</th>
              </tr>
            </thead>
            <tbody>
              {place.survey.assessed.map(({ measure, value, verdict }) => (
                <tr key={measure.key}>
                  <th scope="row">
                    {measure.label}
                    <span className="quiet small">
                      {' '}
                      {measure.source}
                      {!measure.read && '; from memory, to be checked'}
                    </span>
                  </th>
                  <td className="one-line">{value === null ? '—' : `${value} ${measure.unit}`}</td>
                  <td className="one-line">{asked(measure)}</td>
                  <td>
                    <Tag kind={VERDICTS[verdict][1]}>{VERDICTS[verdict][0]}</Tag>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      </>
    ) : (
      <p className="quiet">Nobody has measured this place yet.</p>
    )}
    <p className="small quiet">
      The numbers come from federal standards as far as we have read or remember them; the law of your state
      and your county’s own survey form come first.
    </p>
    {place.mayChange && (
      <ActionForm action={recordSurveyAction} id="survey" fold="Enter a survey" className="panel">
        <input type="hidden" name="countyId" value={county} />
        <input type="hidden" name="placeId" value={place.id} />
        <div className="form-grid">
          <Field name="surveyedOn" label="Measured on" type="date" defaultValue={today} />
          {MEASURES.map((m: Measure) => (
            <Field
              key={m.key}
              name={m.key}
              label={m.label}
              hint={`${m.unit}; ${asked(m)}. Empty: not measured.`}
              inputMode="decimal"
            />
          ))}
          <Field name="note" label="Note" hint="What to mend before the day, and who does it." />
        </div>
        <button type="submit">Keep the survey</button>
      </ActionForm>
    )}
  </section>
)
