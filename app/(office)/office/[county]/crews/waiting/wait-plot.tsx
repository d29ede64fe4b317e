import type { LineEstimate } from '@/lib/crews/core/estimate'

const WIDTH = 640
const HEIGHT = 260
const LEFT = 52
const BOTTOM = 34
const TOP = 14

const hourText = (hour: number) => `${((hour + 11) % 12) + 1} ${hour % 24 < 12 ? 'am' : 'pm'}`
const NICE = [1, 2, 5, 10, 20, 30, 60, 120, 240, 480, 960]

/** Mean wait by hour: the simulated days as a line with its interval as a band, the steady estimate as squares; where
 *  the line would grow without end, a triangle at the top. The numbers stand in the table below, so the drawing is left
 *  out for screen readers. */
export function WaitPlot({ estimate }: { estimate: LineEstimate }) {
  const { hours } = estimate
  const highest = Math.max(
    1,
    ...hours.map((h) => h.simulated.high),
    ...hours.map((h) => Math.min(h.steady.meanWaitMinutes ?? 0, 480)),
  )
  const top = NICE.find((n) => n >= highest) ?? highest
  const step = (WIDTH - LEFT - 10) / hours.length
  const x = (i: number) => LEFT + step * (i + 0.5)
  const y = (minutes: number) =>
    HEIGHT - BOTTOM - (Math.max(0, Math.min(minutes, top)) / top) * (HEIGHT - BOTTOM - TOP)
  const band = [
    ...hours.map((h, i) => `${x(i)},${y(h.simulated.high)}`),
    ...hours.map((h, i) => `${x(i)},${y(h.simulated.low)}`).reverse(),
  ].join(' ')
  return (
    <svg className="wait-plot" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} aria-hidden="true" focusable="false">
      {[0, 0.5, 1].map((share) => (
        <g key={share}>
          <path d={`M${LEFT} ${y(top * share)}H${WIDTH - 10}`} className="grid-line" />
          <text x={LEFT - 8} y={y(top * share) + 5} textAnchor="end">
            {top * share}
          </text>
        </g>
      ))}
      {top >= 30 && <path d={`M${LEFT} ${y(30)}H${WIDTH - 10}`} className="limit" />}
      <polygon points={band} className="band" />
      <polyline points={hours.map((h, i) => `${x(i)},${y(h.simulated.mean)}`).join(' ')} className="mean" />
      {hours.map((h, i) =>
        h.steady.meanWaitMinutes === null ? (
          <path key={h.fromHour} d={`M${x(i)} ${TOP}l7 12h-14z`} className="grows" />
        ) : (
          <rect
            key={h.fromHour}
            x={x(i) - 4}
            y={y(h.steady.meanWaitMinutes) - 4}
            width="8"
            height="8"
            className="steady"
          />
        ),
      )}
      {hours.map((h, i) =>
        i % 2 === 0 ? (
          <text key={h.fromHour} x={x(i)} y={HEIGHT - 12} textAnchor="middle">
            {hourText(h.fromHour)}
          </text>
        ) : null,
      )}
    </svg>
  )
}

const minutes = (n: number) => (n < 0.05 ? '0' : n < 10 ? n.toFixed(1) : String(Math.round(n)))

/** The same as numbers. */
export const WaitTable = ({ estimate, what }: { estimate: LineEstimate; what: string }) => (
  <table>
    <caption className="only-heard">Waiting at {what} by hour</caption>
    <thead>
      <tr>
        <th scope="col">From</th>
        <th scope="col">Voters</th>
        <th scope="col">Wait, simulated (min)</th>
        <th scope="col">Wait, steady (min)</th>
        <th scope="col">In line at its end</th>
      </tr>
    </thead>
    <tbody>
      {estimate.hours.map((h) => (
        <tr key={h.fromHour}>
          <th scope="row" className="one-line">
            {hourText(h.fromHour)}
          </th>
          <td>{Math.round(h.arrivals)}</td>
          <td>
            {minutes(h.simulated.mean)}{' '}
            <span className="quiet small">
              ({minutes(Math.max(0, h.simulated.low))} to {minutes(h.simulated.high)})
            </span>
          </td>
          <td>
            {h.steady.meanWaitMinutes === null ? 'grows without end' : minutes(h.steady.meanWaitMinutes)}
          </td>
          <td>{minutes(h.queueAtEnd)}</td>
        </tr>
      ))}
    </tbody>
  </table>
)
