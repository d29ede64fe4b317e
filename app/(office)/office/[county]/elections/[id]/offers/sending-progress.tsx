'use client'
import { useStateOfWork } from '../../../../../parts/use-state-of-work'

interface Sending {
  status: string
  people: number
  done: number
  cancelAsked: boolean
}

const UNDER_WAY = ['running']
const PAUSE_MS = 2000

/** How far a sending is; reads the page again when it is over. Without JavaScript the page reads itself again. */
export function SendingProgress({ start, address }: { start: Sending; address: string }) {
  const sending = useStateOfWork(start, { address, underWay: UNDER_WAY, pauseMs: PAUSE_MS })
  return (
    <>
      <noscript>
        <meta httpEquiv="refresh" content="4" />
      </noscript>
      <p>
        <span role="status">{sending.cancelAsked ? 'Stopping' : 'Writing to people'}…</span>{' '}
        {sending.done.toLocaleString('en-US')} of {sending.people.toLocaleString('en-US')}
      </p>
      <progress max={Math.max(1, sending.people)} value={sending.done} aria-label="People written to" />
    </>
  )
}
