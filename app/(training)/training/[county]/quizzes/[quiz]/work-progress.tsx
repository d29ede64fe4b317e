'use client'
import { useStateOfWork } from '@/app/(office)/parts/use-state-of-work'

export interface WorkShown {
  status: string
  stage: string
  /** 0 to 1. */
  progress: number
  cancelAsked: boolean
}

const STAGES: Record<string, string> = {
  queued: 'Waiting for its turn',
  reading: 'Reading the sittings',
  classical: 'Counting answers',
  rasch: 'Putting people and questions on one scale',
  'two-parameter': 'Working out how well each question tells people apart',
  questions: 'Looking at each question',
  marking: 'Marking everybody again',
  writing: 'Writing the results',
  certificates: 'Bringing certificates up to date',
}
const UNDER_WAY = ['queued', 'running']
const PAUSE_MS = 1500

/** How far the work on a quiz is. Asks again and again, and reads the page again when it has ended. Without JavaScript the
 *  page reads itself again. */
export function WorkProgress({
  start,
  address,
  label,
}: {
  start: WorkShown
  address: string
  label: string
}) {
  const now = useStateOfWork(start, { address, underWay: UNDER_WAY, pauseMs: PAUSE_MS })
  return (
    <>
      <noscript>
        <meta httpEquiv="refresh" content="4" />
      </noscript>
      <p>
        <span role="status">{now.cancelAsked ? 'Stopping' : (STAGES[now.stage] ?? 'Working')}…</span>{' '}
        {Math.round(now.progress * 100)} %
      </p>
      <progress max={1} value={now.progress} aria-label={label} />
    </>
  )
}
