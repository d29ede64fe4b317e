import { Notice } from '@/app/ui/notice'
import type { OrderView } from '@/lib/roster/queries-packet'
import { count } from '../../../../../parts/words'
import { PapersProgress, type PapersState } from './papers-progress'

/** What is common to papers that a job makes: how far they are, how the last try ended, and their files. */

export const stateOf = ({ status, stage, progress, cancelAsked }: OrderView): PapersState => ({
  status,
  stage,
  progress,
  cancelAsked,
})

export const isUnderWay = (newest: OrderView | null): newest is OrderView =>
  newest?.status === 'queued' || newest?.status === 'running'

/** Where nothing is under way: why the last try left no files. */
export const HowItEnded = ({ newest, stopped }: { newest: OrderView | null; stopped: string }) => (
  <>
    {newest?.status === 'failed' && (
      <Notice kind="bad">
        <p>{newest.failure}</p>
      </Notice>
    )}
    {newest?.status === 'cancelled' && (
      <Notice kind="warn">
        <p>{stopped}</p>
      </Notice>
    )}
  </>
)

export const UnderWay = ({
  newest,
  address,
  label,
}: {
  newest: OrderView
  address: string
  label: string
}) => (
  <>
    <PapersProgress address={address} start={stateOf(newest)} label={label} />
    <p className="quiet">You can go on working, or come back later: the files wait here.</p>
  </>
)

/** The files to fetch. `outdated`: what to do where the papers say what isn't so any more. */
export const PaperFiles = ({
  done,
  address,
  outdated,
}: {
  done: OrderView
  address: string
  outdated: string
}) => (
  <>
    <p>
      <b>{count(done.files.length, 'file')}</b>,{' '}
      {count(
        done.files.reduce((sum, file) => sum + file.pages, 0),
        'page',
      )}
    </p>
    {done.outdated && (
      <Notice kind="warn">
        <p>{outdated}</p>
      </Notice>
    )}
    <ul>
      {done.files.map((file) => (
        <li key={file.number}>
          <a href={`${address}/${done.id}/${file.number}`}>{file.title}</a>{' '}
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
