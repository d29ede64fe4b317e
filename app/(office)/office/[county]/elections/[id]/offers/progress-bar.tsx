import type { OfferCounts } from '@/lib/offers/queries'
import { STATE_TEXT } from './words'

const ORDER = ['accepted', 'open', 'overdue', 'asked'] as const
const WIDTH = 300

/** How the seats of a place stand, as one bar: accepted is solid, no answer is striped, over the deadline is dotted,
 *  asks for another place is crossed, and what is left white has nobody who was asked (or who said yes). The numbers
 *  stand beside it. `<OfferPatterns />` must be on the page once. */
export function OfferBar({ counts, seats }: { counts: OfferCounts; seats: number }) {
  const width = (n: number) => (seats === 0 ? 0 : (n / seats) * (WIDTH - 1))
  let x = 0.5
  return (
    <svg
      className="offer-bar"
      viewBox={`0 0 ${WIDTH} 14`}
      preserveAspectRatio="none"
      aria-hidden="true"
      focusable="false"
    >
      <rect x="0.5" y="0.5" width={WIDTH - 1} height="13" className="seat-empty" />
      {ORDER.map((state) => {
        const at = x
        x += width(counts[state])
        return counts[state] === 0 ? null : (
          <rect
            key={state}
            x={at}
            y="0.5"
            width={Math.max(1, width(counts[state]))}
            height="13"
            data-state={state}
          />
        )
      })}
    </svg>
  )
}

export const OfferPatterns = () => (
  <svg className="offer-patterns" aria-hidden="true" focusable="false">
    <defs>
      <pattern
        id="offer-open"
        width="6"
        height="6"
        patternUnits="userSpaceOnUse"
        patternTransform="rotate(45)"
      >
        <rect width="3" height="6" className="ink" />
      </pattern>
      <pattern id="offer-overdue" width="6" height="6" patternUnits="userSpaceOnUse">
        <circle cx="3" cy="3" r="1.7" className="ink" />
      </pattern>
      <pattern id="offer-asked" width="6" height="6" patternUnits="userSpaceOnUse">
        <path d="M0 0l6 6M6 0l-6 6" className="line" />
      </pattern>
    </defs>
  </svg>
)

export const OfferLegend = ({ counts }: { counts: OfferCounts }) => (
  <ul className="legend">
    {ORDER.map((state) => (
      <li key={state}>
        <svg className="offer-key" viewBox="0 0 22 14" aria-hidden="true" focusable="false">
          <rect x="0.5" y="0.5" width="21" height="13" data-state={state} />
        </svg>{' '}
        {STATE_TEXT[state]} ({counts[state]})
      </li>
    ))}
    <li>
      <svg className="offer-key" viewBox="0 0 22 14" aria-hidden="true" focusable="false">
        <rect x="0.5" y="0.5" width="21" height="13" className="seat-empty" />
      </svg>{' '}
      nobody asked, or a no
    </li>
  </ul>
)

/** The same in words, for a place. */
export const countsText = (counts: OfferCounts, seats: number): string =>
  [
    `${counts.accepted} of ${seats} accepted`,
    ...(['open', 'overdue', 'asked', 'declined'] as const)
      .filter((state) => counts[state] > 0)
      .map((state) => `${counts[state]} ${STATE_TEXT[state]}`),
  ].join(', ')
