import type { PositionFigures } from '@/lib/elections/queries'

/** Seats by position as a picture: one small square a seat while they fit, a bar where they don't; the numbers stand
 *  beside it. Filled squares are solid, empty ones hollow. */
export const SeatBars = ({ positions }: { positions: PositionFigures[] }) => (
  <ul className="seat-bars">
    {positions
      .filter((p) => p.seats > 0)
      .map((p) => {
        const share = p.filled / p.seats
        return (
          <li key={p.key}>
            <span className="seat-bars-name">{p.name}</span>
            <svg
              className="seat-bars-picture"
              viewBox="0 0 300 14"
              preserveAspectRatio="none"
              aria-hidden="true"
              focusable="false"
            >
              <rect x="0.5" y="0.5" width="299" height="13" className="seat-empty" />
              <rect x="0.5" y="0.5" width={Math.max(0, 299 * share)} height="13" className="seat-filled" />
            </svg>
            <span className="seat-bars-figures">
              {p.filled} of {p.seats} filled
              {p.filled < p.seats && <b>, {p.seats - p.filled} empty</b>}
            </span>
            <span className="quiet small">
              {p.certified} certified on election day
              {p.certified < p.neededAtOnce && `, ${p.neededAtOnce} needed`}
            </span>
          </li>
        )
      })}
  </ul>
)
