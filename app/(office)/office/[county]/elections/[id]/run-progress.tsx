'use client'
import { useRouter } from 'next/navigation'
import { useEffect, useState } from 'react'

export interface RunState {
  status: string
  stage: string
  /** 0 to 1. */
  progress: number
  cancelAsked: boolean
  waitedSeconds: number
}

const STAGES: Record<string, string> = {
  queued: 'Waiting for its turn',
  reading: 'Reading people, certificates and seats',
  seats: 'Filling the most important seats first',
  'least-cost': 'Shortening the travel',
  bounds: 'Proving how good it is',
  improving: 'Improving',
  reasons: 'Finding why seats stay empty',
  training: 'Finding whom to train',
  writing: 'Writing the roster',
}

const PAUSE_MS = 2000

/** How far a run is. Asks every two seconds, one question at a time, and reads the page again when the run has ended.
 *  Without JavaScript the page reads itself again. */
export function RunProgress({ start, address }: { start: RunState; address: string }) {
  const [run, setRun] = useState(start)
  const router = useRouter()
  useEffect(() => {
    let over = false
    const ask = async () => {
      while (!over) {
        await new Promise((resolve) => setTimeout(resolve, PAUSE_MS))
        if (over || document.visibilityState !== 'visible') continue
        const answer = await fetch(address).catch(() => null)
        if (over || !answer?.ok) continue
        const now = (await answer.json()) as RunState | null
        if (!now || (now.status !== 'queued' && now.status !== 'running')) {
          over = true
          router.refresh()
        } else setRun(now)
      }
    }
    void ask()
    return () => {
      over = true
    }
  }, [address, router])
  const words = run.cancelAsked ? 'Stopping' : (STAGES[run.stage] ?? 'Working')
  return (
    <>
      <noscript>
        <meta httpEquiv="refresh" content="4" />
      </noscript>
      <p>
        <span role="status">{words}…</span> {Math.round(run.progress * 100)} %
      </p>
      <progress max={1} value={run.progress} aria-label="Progress of the run" />
      {run.status === 'queued' && run.waitedSeconds > 30 && (
        <div className="notice" data-kind="warn">
          <p>
            The run has been waiting for {run.waitedSeconds} seconds: the job runner may be busy or stopped.
            If this goes on, tell your administrator.
          </p>
        </div>
      )}
    </>
  )
}
