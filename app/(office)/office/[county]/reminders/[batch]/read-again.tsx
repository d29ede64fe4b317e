'use client'
import { useRouter } from 'next/navigation'
import { useEffect } from 'react'

const PAUSE_MS = 2000

/** Reads the page again every two seconds while something is under way and the page is looked at. Without JavaScript the
 *  page reads itself again. */
export function ReadAgain() {
  const router = useRouter()
  useEffect(() => {
    const beat = setInterval(() => document.visibilityState === 'visible' && router.refresh(), PAUSE_MS)
    return () => clearInterval(beat)
  }, [router])
  return (
    <noscript>
      <meta httpEquiv="refresh" content="4" />
    </noscript>
  )
}
