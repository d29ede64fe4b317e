'use client'
import { useRouter } from 'next/navigation'
import { useEffect, useRef, useState } from 'react'
import type { RosterChanges } from '@/lib/roster/queries-changes'

const PAUSE_MS = 4000
/** Nobody has touched the page for so long: it may show the newer roster by itself. */
const QUIET_MS = 3000

/** Says calmly what somebody else has just done to this roster. Asks every four seconds while the page is in sight. A
 *  page that nobody is working on shows the newer roster at once; else a button does, so that nothing moves under a
 *  hand. `still`: never by itself (a person is being moved, a seat is being filled). */
export function LiveLine({
  address,
  mark,
  still = false,
}: {
  address: string
  mark: string
  still?: boolean
}) {
  const router = useRouter()
  const [news, setNews] = useState<RosterChanges | null>(null)
  const touched = useRef(0)
  useEffect(() => {
    let over = false
    let shownFor = mark
    const touch = () => {
      touched.current = Date.now()
    }
    const look = async () => {
      const answer = await fetch(`${address}?seen=${encodeURIComponent(mark)}`).catch(() => null)
      if (over || !answer?.ok) return
      const now = (await answer.json()) as RosterChanges
      if (now.mark === shownFor) return
      shownFor = now.mark
      if (now.changes.some((c) => !c.byMe)) setNews(now)
      const busy = document.activeElement?.closest('form, .panel') ?? null
      if (!still && !busy && Date.now() - touched.current > QUIET_MS) router.refresh()
    }
    const ask = async () => {
      while (!over) {
        await new Promise((resolve) => setTimeout(resolve, PAUSE_MS))
        if (!over && document.visibilityState === 'visible') await look()
      }
    }
    const inputs = ['pointermove', 'pointerdown', 'keydown', 'scroll'] as const
    for (const name of inputs) addEventListener(name, touch, { passive: true })
    void ask()
    return () => {
      over = true
      for (const name of inputs) removeEventListener(name, touch)
    }
  }, [address, mark, router, still])
  const latest = news?.changes.find((c) => !c.byMe)
  return (
    <div className="live-line" aria-live="polite">
      {news && latest && (
        <p>
          {latest.text} <span className="quiet">{latest.when}</span>
          {news.changes.length > 1 && `, and ${news.changes.length - 1} more`}.{' '}
          {news.mark !== mark && (
            <button type="button" onClick={() => router.refresh()}>
              Show the roster as it is now
            </button>
          )}
        </p>
      )}
    </div>
  )
}
