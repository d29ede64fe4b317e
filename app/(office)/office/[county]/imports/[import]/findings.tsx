import { Empty, TableBox } from '@/app/ui/notice'
import type { FindingKind, ImportOutcome } from '@/lib/exchange/outcome'
import { FINDINGS_PAGE, type FindingsPage } from '@/lib/exchange/queries'

const WORDS: Record<FindingKind, string> = {
  error: 'Errors',
  warning: 'Look at these',
  duplicate: 'May be one person',
  change: 'Changed',
  create: 'New',
}

/** What the dry run found, by row and column, a page of one kind at a time. */
export function Findings({
  base,
  kind,
  outcome,
  findings,
  counts,
  page,
  pages,
}: FindingsPage & { base: string; kind: FindingKind; outcome: ImportOutcome }) {
  const total = {
    error: outcome.errors,
    warning: outcome.warnings,
    duplicate: outcome.duplicates,
    change: outcome.change,
    create: outcome.create,
  }
  const shown = (Object.keys(WORDS) as FindingKind[]).filter((k) => total[k] > 0)
  const rowWord = outcome.feed ? 'Line' : 'Row'
  const hasColumn = findings.some((f) => f.column !== null)
  return (
    <section aria-labelledby="rows">
      <h2 id="rows">
        {rowWord} by {rowWord.toLowerCase()}
      </h2>
      {shown.length > 1 && (
        <nav aria-label="What to show">
          <ul className="subnav">
            {shown.map((k) => (
              <li key={k}>
                <a href={`${base}?show=${k}#rows`} aria-current={k === kind ? 'page' : undefined}>
                  {WORDS[k]} ({total[k].toLocaleString('en-US')})
                </a>
              </li>
            ))}
          </ul>
        </nav>
      )}
      {findings.length === 0 ? (
        <Empty>
          <p>Nothing of this kind.</p>
        </Empty>
      ) : (
        <TableBox label={WORDS[kind]}>
          <table className="findings">
            <thead>
              <tr>
                <th scope="col">{rowWord}</th>
                {hasColumn && <th scope="col">Column</th>}
                <th scope="col">{kind === 'error' || kind === 'warning' ? 'It says' : 'Which'}</th>
                <th scope="col">{kind === 'error' || kind === 'warning' ? 'What to do' : 'What'}</th>
              </tr>
            </thead>
            <tbody>
              {findings.map((f) => (
                <tr key={f.number}>
                  <th scope="row">{f.row ?? '–'}</th>
                  {hasColumn && <td>{f.column ?? '–'}</td>}
                  <td className="said">{f.value || <span className="quiet">nothing</span>}</td>
                  <td>{f.message}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
      {(counts[kind] ?? 0) < total[kind] && (
        <p className="quiet">
          Only the first {(counts[kind] ?? 0).toLocaleString('en-US')} of{' '}
          {total[kind].toLocaleString('en-US')} are listed.
        </p>
      )}
      {pages > 1 && (
        <nav className="row" aria-label="Pages">
          {page > 1 && (
            <a className="button" href={`${base}?show=${kind}&page=${page - 1}#rows`}>
              Earlier rows
            </a>
          )}
          <span>
            Page {page} of {pages}, {FINDINGS_PAGE} a page
          </span>
          {page < pages && (
            <a className="button" href={`${base}?show=${kind}&page=${page + 1}#rows`}>
              Later rows
            </a>
          )}
        </nav>
      )}
    </section>
  )
}
