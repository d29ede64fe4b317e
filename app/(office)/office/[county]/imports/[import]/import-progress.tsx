'use client'
import { useStateOfWork } from '../../../../parts/use-state-of-work'

export interface ImportState {
  status: string
  stage: string
  /** 0 to 1. */
  progress: number
  cancelAsked: boolean
  waitedSeconds: number
}

const STAGES: Record<string, string> = {
  'waiting-check': 'Waiting for its turn',
  'waiting-apply': 'Waiting for its turn',
  reading: 'Reading the file',
  comparing: 'Comparing it with the county',
  writing: 'Writing',
}
const UNDER_WAY = ['queued', 'checking', 'applying']
const PAUSE_MS = 1500

/** How far an import is. Asks again and again, one question at a time, and reads the page again when it has ended.
 *  Without JavaScript the page reads itself again. */
export function ImportProgress({ start, address }: { start: ImportState; address: string }) {
  const state = useStateOfWork(start, { address, underWay: UNDER_WAY, pauseMs: PAUSE_MS })
  return (
    <>
      <noscript>
        <meta httpEquiv="refresh" content="3" />
      </noscript>
      <p>
        <span role="status">{state.cancelAsked ? 'Stopping' : (STAGES[state.stage] ?? 'Working')}…</span>{' '}
        {Math.round(state.progress * 100)} %
      </p>
      <progress max={1} value={state.progress} aria-label="Progress of the import" />
    </>
  )
}
