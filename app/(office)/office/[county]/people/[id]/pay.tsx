import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import { TableBox } from '@/app/ui/notice'
import { dollars, type PayRates } from '@/lib/people/pay'
import type { PayRow } from '@/lib/people/queries-history'
import { dateText } from '../../../../parts/words'
import { recordPayAction, takeBackPayAction } from './actions'
import { TakeBack } from './take-back'

const hoursText = (minutes: number) => `${Number((minutes / 60).toFixed(2))} h`

/** What somebody was paid, by day. A plain record for the county's own payroll. */
export function Pay({
  county,
  workerId,
  rows,
  rates,
  positions,
  elections,
  mayChange,
}: {
  county: string
  workerId: string
  rows: PayRow[]
  rates: PayRates
  positions: { key: string; nameEn: string }[]
  elections: { id: string; name: string; heldOn: string; daysToGo: number }[]
  mayChange: boolean
}) {
  // What was served lately is what is recorded.
  const latest =
    elections.filter((e) => e.daysToGo <= 0).sort((a, b) => b.daysToGo - a.daysToGo)[0] ?? elections[0]
  const nameOf = (key: string) => positions.find((p) => p.key === key)?.nameEn ?? key
  const paid = positions.filter((p) => rates[p.key])
  const sum = rows.filter((row) => !row.takenBack).reduce((total, row) => total + row.amountCents, 0)
  return (
    <section aria-labelledby="pay">
      <h2 id="pay">Pay</h2>
      {rows.length === 0 ? (
        <p className="quiet">No pay is recorded.</p>
      ) : (
        <TableBox label="Pay">
          <table>
            <thead>
              <tr>
                <th scope="col">Day</th>
                <th scope="col">Election</th>
                <th scope="col">Position</th>
                <th scope="col">Hours</th>
                <th scope="col">Amount</th>
                <th scope="col">Note</th>
              </tr>
            </thead>
            <tbody>
              {rows.map((row) => (
                <tr key={row.id} className={row.takenBack ? 'revoked' : undefined}>
                  <th scope="row">{dateText(row.servedOn)}</th>
                  <td>{row.election}</td>
                  <td>{nameOf(row.positionKey)}</td>
                  <td>{hoursText(row.minutes)}</td>
                  <td>{dollars(row.amountCents)}</td>
                  <td>
                    {row.note}
                    {row.takenBack ? (
                      ' (taken back)'
                    ) : mayChange ? (
                      <TakeBack
                        action={takeBackPayAction}
                        county={county}
                        workerId={workerId}
                        id={row.id}
                        what={dateText(row.servedOn)}
                      />
                    ) : null}
                  </td>
                </tr>
              ))}
            </tbody>
            <tfoot>
              <tr>
                <th scope="row" colSpan={4}>
                  Together
                </th>
                <td>{dollars(sum)}</td>
                <td />
              </tr>
            </tfoot>
          </table>
        </TableBox>
      )}
      {mayChange && paid.length === 0 && (
        <p>
          No position has a rate yet: <a href={`/office/${county}/service`}>set what each is paid</a>.
        </p>
      )}
      {mayChange && paid.length > 0 && elections.length > 0 && (
        <ActionForm action={recordPayAction} id="record-pay" fold="Record hours" className="panel">
          <input type="hidden" name="countyId" value={county} />
          <input type="hidden" name="workerId" value={workerId} />
          <div className="form-grid">
            <Choice
              name="electionId"
              label="Election"
              options={elections.map((e): [string, string] => [e.id, `${e.name}, ${dateText(e.heldOn)}`])}
              defaultValue={latest?.id}
            />
            <Choice
              name="positionKey"
              label="Position"
              options={paid.map((p): [string, string] => [p.key, p.nameEn])}
            />
            <Field name="servedOn" label="Day" type="date" defaultValue={latest?.heldOn} />
            <Field name="hours" label="Hours" inputMode="decimal" />
            <Field name="note" label="Note" />
          </div>
          <button type="submit">Record</button>
        </ActionForm>
      )}
    </section>
  )
}
