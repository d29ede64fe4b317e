import type { ShownVerdict } from './shown-verdict'

/** Green, round and a tick; or red, eight-cornered and a cross: told apart without colour, too. */
export const VerdictPanel = ({ verdict }: { verdict: ShownVerdict }) => (
  <section className="verdict" data-good={verdict.good || undefined} aria-labelledby="verdict">
    <h2 className="verdict-head" id="verdict">
      <svg viewBox="0 0 48 48" aria-hidden="true" focusable="false">
        {verdict.good ? (
          <>
            <circle cx="24" cy="24" r="22" fill="var(--good)" />
            <path d="M13 25l8 8 15-17" fill="none" stroke="var(--panel)" strokeWidth="5" />
          </>
        ) : (
          <>
            <path d="M15 2h18l13 13v18L33 46H15L2 33V15z" fill="var(--bad)" />
            <path d="M16 16l16 16M32 16L16 32" stroke="var(--panel)" strokeWidth="5" />
          </>
        )}
      </svg>
      <strong>{verdict.word}</strong>
    </h2>
    <p className="sentence">{verdict.sentence}</p>
    {verdict.rows.length > 0 && (
      <dl>
        {verdict.rows.map((row) => (
          <div key={row.label} style={{ display: 'contents' }}>
            <dt>{row.label}</dt>
            <dd className={row.isNumber ? 'number' : undefined}>{row.text}</dd>
          </div>
        ))}
      </dl>
    )}
    {verdict.hint && <p className="small">{verdict.hint}</p>}
  </section>
)
