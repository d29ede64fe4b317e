'use client'
import { useRouter } from 'next/navigation'
import { useEffect } from 'react'

const PAUSE_MS = 2000

/** Reads the page again until the search is done. */
export function Looking() {
  const router = useRouter()
  useEffect(() => {
    const timer = setInterval(() => {
      if (document.visibilityState === 'visible') router.refresh()
    }, PAUSE_MS)
    return () => clearInterval(timer)
  }, [router])
  return null
}
