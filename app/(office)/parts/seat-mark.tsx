import type { SeatState } from '@/lib/roster/queries'

export const STATE_WORDS: Record<SeatState, string> = {
  filled: 'filled',
  locked: 'locked',
  empty: 'empty',
  halfEmpty: 'half empty',
  misplaced: 'not allowed',
}

/** A seat's state as a shape: a full disc, a square with a keyhole, a broken ring, a ring with one
 *  half full, a triangle. The word stands beside
 *  it, and the colour only repeats it. */
export const SeatMark = ({ state }: { state: SeatState }) => (
  <svg className="seat-mark" data-state={state} viewBox="0 0 20 20" aria-hidden="true" focusable="false">
    {state === 'filled' && <circle cx="10" cy="10" r="7.5" className="solid" />}
    {state === 'locked' && (
      <>
        <rect x="2.5" y="2.5" width="15" height="15" rx="2" className="solid" />
        <circle cx="10" cy="8.5" r="2.4" className="hole" />
        <path d="M9 9h2l1 6H8z" className="hole" />
      </>
    )}
    {state === 'empty' && <circle cx="10" cy="10" r="7" className="ring" />}
    {state === 'halfEmpty' && (
      <>
        <circle cx="10" cy="10" r="7" className="ring whole" />
        <path d="M10 3a7 7 0 0 0 0 14z" className="solid" />
      </>
    )}
    {state === 'misplaced' && (
      <>
        <path d="M10 1.5 19 18H1z" className="solid" />
        <path d="M9 7h2l-.3 5.5H9.300zM9 14h2v2H9z" className="hole" />
      </>
    )}
  </svg>
)
