'use client'
import { useRouter } from 'next/navigation'
import { useEffect, useState } from 'react'

interface Sending {
  status: string
  people: number
  done: number
  cancelAsked: boolean
}

const PAUSE_MS = 2000

/** How far a sending is; reads the page again when it is over. Without JavaScript the page reads itself again. */
export function SendingProgress({ start, address }: { start: Sending; address: string }) {
  const [sending, setSending] = useState(start)
  const router = useRouter()
  useEffect(() => {
    let over = false
    const ask = async () => {
      while (!over) {
        await new Promise((resolve) => setTimeout(resolve, PAUSE_MS))
        if (over || document.visibilityState !== 'visible') continue
        const answer = await fetch(address).catch(() => null)
        if (over || !answer?.ok) continue
        const now = (await answer.json()) as Sending | null
        if (now?.status === 'running') setSending(now)
        else {
          over = true
          router.refresh()
        }
      }
    }
    void ask()
    return () => {
      over = true
    }
  }, [address, router])
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
