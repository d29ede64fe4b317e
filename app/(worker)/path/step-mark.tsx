/** The round mark of one step: a tick, an arrow or an empty ring. The words beside it say the same. */
export const StepMark = ({ state }: { state: 'done' | 'next' | 'open' }) => (
  <svg className="mark" viewBox="0 0 48 48" aria-hidden="true" focusable="false">
    <circle
      cx="24"
      cy="24"
      r="20"
      fill={state === 'done' ? 'var(--good)' : state === 'next' ? 'var(--accent)' : 'var(--panel)'}
      stroke={state === 'done' ? 'var(--good)' : state === 'next' ? 'var(--accent)' : 'var(--line)'}
      strokeWidth="4"
      strokeDasharray={state === 'open' ? '6 5' : undefined}
    />
    {state === 'done' && (
      <path d="M14 25l7 7 14-15" fill="none" stroke="var(--panel)" strokeWidth="5" strokeLinecap="round" />
    )}
    {state === 'next' && (
      <path
        d="M14 24h18M25 16l8 8-8 8"
        fill="none"
        stroke="var(--accent-ink)"
        strokeWidth="5"
        strokeLinecap="round"
      />
    )}
  </svg>
)
