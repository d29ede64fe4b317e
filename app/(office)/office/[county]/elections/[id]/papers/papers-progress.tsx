'use client'
import { useStateOfWork } from '../../../../../parts/use-state-of-work'

export interface PapersState {
  status: string
  stage: string
  /** 0 to 1. */
  progress: number
  cancelAsked: boolean
}

const UNDER_WAY = ['queued', 'running']
const PAUSE_MS = 2000
const STAGES: Record<string, string> = { queued: 'Waiting for its turn', reading: 'Reading' }

/** How far papers are: asks every two seconds, and reads the page again when it is done. Without JavaScript the page
 *  reads itself again. */
export function PapersProgress({
  start,
  address,
  label,
}: {
  start: PapersState
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
        <span role="status">{now.cancelAsked ? 'Stopping' : (STAGES[now.stage] ?? now.stage)}…</span>{' '}
        {Math.round(now.progress * 100)} %
      </p>
      <progress max={1} value={now.progress} aria-label={label} />
    </>
  )
}
