import { ActionForm } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import type { OrderView, PapersPage } from '@/lib/roster/queries-packet'
import { count } from '../../../../../parts/words'
import { askPapersAction, stopPapersAction } from './actions'
import { PapersProgress } from './papers-progress'

/** The packet of the whole county: its button, its progress, its files. */
export const CountyPacket = ({ page, base }: { page: PapersPage; base: string }) => {
  const { head, newest, done } = page
  const active = newest?.status === 'queued' || newest?.status === 'running'
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
      {newest?.status === 'failed' && (
        <Notice kind="bad">
          <p>{newest.failure}</p>
        </Notice>
      )}
      {newest?.status === 'cancelled' && (
        <Notice kind="warn">
          <p>The last packet was stopped before it was done.</p>
        </Notice>
      )}
      {active ? (
        <>
          <PapersProgress
            address={`${base}/papers/progress`}
            start={{
              status: newest.status,
              stage: newest.stage,
              progress: newest.progress,
              cancelAsked: newest.cancelAsked,
            }}
          />
          <p className="quiet">You can go on working, or come back later: the files wait here.</p>
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
      {done && <Files done={done} base={base} />}
    </section>
  )
}

const Files = ({ done, base }: { done: OrderView; base: string }) => (
  <>
    <h3>
      {count(done.files.length, 'file')},{' '}
      {count(
        done.files.reduce((sum, file) => sum + file.pages, 0),
        'page',
      )}
    </h3>
    {done.outdated && (
      <Notice kind="warn">
        <p>The roster has changed since these files were made. Make the packet again before you print.</p>
      </Notice>
    )}
    <ul>
      {done.files.map((file) => (
        <li key={file.number}>
          <a href={`${base}/papers/files/${done.id}/${file.number}`}>{file.title}</a>{' '}
          <span className="quiet">
            {count(file.pages, 'page')}, {sizeText(file.bytes)}
          </span>
        </li>
      ))}
    </ul>
  </>
)

const sizeText = (bytes: number) =>
  bytes < 1e6 ? `${Math.ceil(bytes / 1e3)} kB` : `${(bytes / 1e6).toFixed(1)} MB`
