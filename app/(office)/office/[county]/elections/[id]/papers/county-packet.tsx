import { ActionForm } from '@/app/ui/action-form'
import type { PapersPage } from '@/lib/roster/queries-packet'
import { askPapersAction, stopPapersAction } from './actions'
import { HowItEnded, isUnderWay, PaperFiles, UnderWay } from './order'

/** The packet of the whole county: its button, its progress, its files. */
export const CountyPacket = ({ page, base }: { page: PapersPage; base: string }) => {
  const { head, newest, done } = page
  const ids = (
    <>
      <input type="hidden" name="electionId" value={head.id} />
      <input type="hidden" name="countyId" value={head.countyId} />
    </>
  )
  return (
    <section className="panel" aria-labelledby="county">
      <h2 id="county">The whole county</h2>
      <p>
        Leads and phone numbers, a map with a scale, everybody by place, standby people; then for each place
        its sheet, sign-in sheets, reconciliation form and job aids; then all badges.
      </p>
      <HowItEnded newest={newest} stopped="The last packet was stopped before it was done." />
      {isUnderWay(newest) ? (
        <>
          <UnderWay newest={newest} address={`${base}/papers/progress`} label="Progress of the packet" />
          {head.mayChange && (
            <ActionForm action={stopPapersAction}>
              {ids}
              <button type="submit" data-kind="bad">
                Stop making the packet
              </button>
            </ActionForm>
          )}
        </>
      ) : (
        head.mayChange && (
          <ActionForm action={askPapersAction}>
            {ids}
            <button type="submit" data-kind="main">
              {done ? 'Make the packet again' : 'Make the packet'}
            </button>
          </ActionForm>
        )
      )}
      {done && (
        <PaperFiles
          done={done}
          address={`${base}/papers/files`}
          outdated="The roster has changed since these files were made. Make the packet again before you print."
        />
      )}
    </section>
  )
}
