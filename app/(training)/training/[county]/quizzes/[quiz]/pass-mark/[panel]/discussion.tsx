import { TableBox } from '@/app/ui/notice'
import type { CutScore } from '@/lib/assessment/core/cut-score'
import type { PanelDetail } from '@/lib/assessment/queries-panels'

const percent = (share: number) => `${Math.round(share * 100)}`

/** Each judge's rating as a tick on a line from 0 to 100; the mean is the thick one. */
const Spread = ({ values, mean }: { values: number[]; mean: number }) => (
  <svg className="spread" viewBox="0 0 104 16" aria-hidden="true" focusable="false">
    <line x1="2" x2="102" y1="8" y2="8" className="axis" />
    {values.map((value, i) => (
      <line key={i} x1={2 + 100 * value} x2={2 + 100 * value} y1="3" y2="13" className="tick" />
    ))}
    <line x1={2 + 100 * mean} x2={2 + 100 * mean} y1="1" y2="15" className="mean" />
  </svg>
)

/** The questions, those first on which the judges differ most. */
export function Discussion({
  panel,
  first,
  second,
}: {
  panel: PanelDetail
  first: CutScore
  second: CutScore | null
}) {
  const now = second ?? first
  const round = second ? 1 : 0
  const rows = panel.items
    .map((item, i) => ({
      item,
      now: now.byItem[i]!,
      before: first.byItem[i]!,
      values: panel.ratings[round].map((ratings) => ratings[i]!),
    }))
    .sort((a, b) => (b.now.spread ?? 0) - (a.now.spread ?? 0))
  return (
    <section aria-labelledby="talk">
      <h2 id="talk">
        {second ? 'The questions after both rounds' : 'To talk about before the second round'}
      </h2>
      <p>
        The questions on which the judges differ most stand first.{' '}
        {!second && 'Let the lowest and the highest judge say why; nobody has to give in.'} “Measured” is how
        many of a hundred people, ready or not, were right so far.
      </p>
      <TableBox label="Ratings by question">
        <table>
          <thead>
            <tr>
              <th scope="col">Question</th>
              <th scope="col">Judges</th>
              <th scope="col" className="number">
                Mean
              </th>
              <th scope="col" className="number">
                Lowest, highest
              </th>
              {second && (
                <th scope="col" className="number">
                  First round
                </th>
              )}
              <th scope="col" className="number">
                Measured
              </th>
            </tr>
          </thead>
          <tbody>
            {rows.map(({ item, now: current, before, values }) => (
              <tr key={item.id}>
                <th scope="row" className="question-cell">
                  {item.asked.text}
                </th>
                <td>
                  <Spread values={values} mean={current.mean} />
                </td>
                <td className="number">{percent(current.mean)}</td>
                <td className="number">
                  {percent(Math.min(...values))}, {percent(Math.max(...values))}
                </td>
                {second && <td className="number">{percent(before.mean)}</td>}
                <td className="number">{item.measured === null ? '—' : percent(item.measured)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </TableBox>
    </section>
  )
}
