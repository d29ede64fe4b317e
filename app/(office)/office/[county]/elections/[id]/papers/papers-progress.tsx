'use client'
import { useRouter } from 'next/navigation'
import { useEffect, useState } from 'react'

export interface PapersState {
  status: string
  stage: string
  /** 0 to 1. */
  progress: number
  cancelAsked: boolean
}

const PAUSE_MS = 2000
const STAGES: Record<string, string> = { queued: 'Waiting for its turn', reading: 'Reading the roster' }

/** How far the packet is: asks every two seconds, and reads the page again when it is done. Without JavaScript the page
 *  reads itself again. */
export function PapersProgress({ start, address }: { start: PapersState; address: string }) {
  const [now, setNow] = useState(start)
  const router = useRouter()
  useEffect(() => {
    let over = false
    const ask = async () => {
      while (!over) {
        await new Promise((resolve) => setTimeout(resolve, PAUSE_MS))
        if (over || document.visibilityState !== 'visible') continue
        const answer = await fetch(address).catch(() => null)
        if (over || !answer?.ok) continue
        const state = (await answer.json()) as PapersState | null
        if (state?.status === 'queued' || state?.status === 'running') setNow(state)
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
        <span role="status">{now.cancelAsked ? 'Stopping' : (STAGES[now.stage] ?? now.stage)}…</span>{' '}
        {Math.round(now.progress * 100)} %
      </p>
      <progress max={1} value={now.progress} aria-label="Progress of the packet" />
    </>
  )
}
