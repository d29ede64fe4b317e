'use client'
import { useRouter } from 'next/navigation'
import { useEffect } from 'react'

/** Reads the page again every two seconds while a run is under way, as long as somebody looks at it. Without
 *  JavaScript the page does so by itself. */
export function RefreshWhile() {
  const router = useRouter()
  useEffect(() => {
    const timer = setInterval(() => {
      if (document.visibilityState === 'visible') router.refresh()
    }, 2000)
    return () => clearInterval(timer)
  }, [router])
  return (
    <noscript>
      <meta httpEquiv="refresh" content="4" />
    </noscript>
  )
}
