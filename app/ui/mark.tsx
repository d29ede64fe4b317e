/** Our own mark: a card on its way, and the loop that brings it round. */
export const Mark = () => (
  <svg viewBox="0 0 32 32" aria-hidden="true" focusable="false">
    <path
      d="M27 16a11 11 0 1 1-4-8.5"
      fill="none"
      stroke="var(--accent)"
      strokeWidth="3.4"
      strokeLinecap="round"
    />
    <path d="M22 2.8l2 5.6-5.8 1z" fill="var(--accent)" />
    <rect x="12" y="10.5" width="8" height="11" rx="1.6" fill="var(--ink)" />
    <path d="M14.2 14h3.6M14.2 17h3.6" stroke="var(--panel)" strokeWidth="1.3" />
  </svg>
)
