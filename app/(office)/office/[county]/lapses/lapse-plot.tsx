import { TableBox } from '@/app/ui/notice'
import type { LapsesView } from '@/lib/reminders/queries'
import { dateText } from '../../../parts/words'

const LEFT = 150
const STEP = 62
const ROW = 46
const TOP = 30

/** A row for each position, time from left to right up to election day; a disc's area is the number of certificates that
 *  end in that stretch of weeks, and the number stands in it. The same figures follow as a table. */
export const LapsePlot = ({ view }: { view: LapsesView }) => {
  const roles = view.byRole.filter((role) => role.holdToday > 0 || role.lapsing > 0)
  const most = Math.max(1, ...roles.flatMap((role) => role.counts))
  const width = LEFT + view.bins.length * STEP + 20
  const height = TOP + roles.length * ROW + 10
  const x = (i: number) => LEFT + i * STEP + STEP / 2
  const y = (i: number) => TOP + i * ROW + ROW / 2
  return (
    <>
      <TableBox label="Certificates that end, by position and time">
        <svg
          className="lapse-plot"
          viewBox={`0 0 ${width} ${height}`}
          style={{ minWidth: `${width * 0.75}px` }}
          aria-hidden="true"
        >
          {view.bins.map((bin, i) => (
            <g key={bin.from}>
              <line x1={LEFT + i * STEP} x2={LEFT + i * STEP} y1={TOP - 6} y2={height} className="tick" />
              <text x={x(i)} y={16} textAnchor="middle">
                {dayOf(view, i)}
              </text>
            </g>
          ))}
          <line x1={width - 20} x2={width - 20} y1={TOP - 6} y2={height} className="election" />
          {roles.map((role, r) => (
            <g key={role.key}>
              <text x={0} y={y(r) + 6} className="role">
                {role.name}
              </text>
              <line x1={LEFT} x2={width - 20} y1={y(r)} y2={y(r)} className="tick" />
              {role.counts.map((n, i) =>
                n === 0 ? null : (
                  <g key={view.bins[i]!.from}>
                    <circle cx={x(i)} cy={y(r)} r={Math.max(9, 21 * Math.sqrt(n / most))} className="disc" />
                    <text x={x(i)} y={y(r) + 6} textAnchor="middle" className="inside">
                      {n}
                    </text>
                  </g>
                ),
              )}
            </g>
          ))}
        </svg>
      </TableBox>
      <p className="small quiet">
        Each column is {weeks(view)} from the day above it. The bar at the right is election day.
      </p>
      <details className="more">
        <summary>The same as a table</summary>
        <TableBox label="The same as a table">
          <table>
            <caption>Certificates that end, by position and from which day</caption>
            <thead>
              <tr>
                <th scope="col">Position</th>
                <th scope="col" className="number">
                  Hold it today
                </th>
                <th scope="col" className="number">
                  End before
                </th>
                {view.bins.map((bin) => (
                  <th scope="col" className="number" key={bin.from}>
                    {dateText(bin.from)}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {roles.map((role) => (
                <tr key={role.key}>
                  <th scope="row">{role.name}</th>
                  <td className="number">{role.holdToday}</td>
                  <td className="number">{role.lapsing}</td>
                  {role.counts.map((n, i) => (
                    <td className="number" key={view.bins[i]!.from}>
                      {n}
                    </td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      </details>
    </>
  )
}

/** 'Jun 2', with the year where it is another than in the column before. */
function dayOf(view: LapsesView, i: number): string {
  const [bin, before] = [view.bins[i]!, view.bins[i - 1]]
  const day = dateText(bin.from, 'short').replace(/^\w+, /, '')
  return before && before.from.slice(0, 4) !== bin.from.slice(0, 4) ? `${day} ’${bin.from.slice(2, 4)}` : day
}

function weeks(view: LapsesView): string {
  const [bin] = view.bins
  if (!bin) return 'a week'
  const n = Math.round((Date.parse(bin.until) - Date.parse(bin.from)) / (7 * 86_400_000))
  return n === 1 ? 'a week' : `${n} weeks`
}
