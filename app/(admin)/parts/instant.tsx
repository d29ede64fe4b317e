/** An instant in the office's zone, and exactly for machines. */
export const Instant = ({
  at,
  timeZone,
  locale = 'en-US',
}: {
  at: Date
  timeZone: string
  locale?: string
}) => (
  <time dateTime={at.toISOString()} className="one-line">
    {new Intl.DateTimeFormat(locale, { dateStyle: 'medium', timeStyle: 'short', timeZone }).format(at)}
  </time>
)
