'use client'
import { useRouter } from 'next/navigation'
import { useEffect, useState } from 'react'

/** The state of long work, asked for again and again, one question at a time, while the page is looked at. When the work
 *  is no longer under way the page is read again. `underWay` lists its statuses and stays the same between renders. */
export function useStateOfWork<S extends { status: string }>(
  start: S,
  { address, underWay, pauseMs }: { address: string; underWay: readonly string[]; pauseMs: number },
): S {
  const [state, setState] = useState(start)
  const router = useRouter()
  useEffect(() => {
    let over = false
    const ask = async () => {
      while (!over) {
        await new Promise((resolve) => setTimeout(resolve, pauseMs))
        if (over || document.visibilityState !== 'visible') continue
        const answer = await fetch(address).catch(() => null)
        if (over || !answer?.ok) continue
        const now = (await answer.json()) as S | null
        if (now && underWay.includes(now.status)) setState(now)
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
  }, [address, underWay, pauseMs, router])
  return state
}
