import { ActionForm, Tick } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import type { ElectionHead } from '@/lib/roster/queries'
import { count } from '../../../../parts/words'
import { publishAction } from './actions'

/** The ways out: publish a version, compare it, print it, take it away as a file. */
export const PublishPanel = ({
  head,
  empty,
  overParty,
  query,
}: {
  head: ElectionHead
  empty: number
  /** Crews with more of one party than the county's rules allow. */
  overParty: number
  query: string
}) => {
  const base = `/office/${head.countyId}/elections/${head.id}`
  return (
    <section className="panel" aria-labelledby="publish">
      <h2 id="publish">Publish, print, export</h2>
      {head.mayChange && head.roster && !head.roster.publishedAt && (
        <>
          <p>
            Publishing keeps version {head.roster.version} as it is, for good
            {empty > 0 ? ` (with ${count(empty, 'seat')} still empty)` : ''}. Later changes start a new draft.
          </p>
          <ActionForm action={publishAction}>
            <input type="hidden" name="electionId" value={head.id} />
            <input type="hidden" name="countyId" value={head.countyId} />
            <input type="hidden" name="expected" value={head.mark} />
            {overParty > 0 && (
              <>
                <Notice kind="warn">
                  <p>
                    {count(overParty, 'crew has', 'crews have')} more of one party than your county allows;
                    the board names them above.
                  </p>
                </Notice>
                <label className="choice">
                  <Tick name="overParty" value="yes" /> Publish all the same
                </label>
              </>
            )}
            <button type="submit" data-kind="main">
              Publish version {head.roster.version}
            </button>
          </ActionForm>
        </>
      )}
      <p className="row">
        {head.roster && (
          <a className="button" href={`${base}/compare`}>
            Compare with before
          </a>
        )}
        <a className="button" href={`${base}/papers`}>
          Papers for the day (PDF)
        </a>
        <a className="button" href={`${base}/print`}>
          Crew lists for print
        </a>
        <a className="button" href={`${base}/print?what=county`}>
          County overview for print
        </a>
        <a className="button" href={`${base}/roster.csv`} download>
          Roster as CSV
        </a>
        {query && (
          <a className="button" href={`${base}/roster.csv?${query}`} download>
            What the filter shows as CSV
          </a>
        )}
      </p>
    </section>
  )
}
