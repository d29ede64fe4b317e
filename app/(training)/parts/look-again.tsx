'use client'
import { useRouter } from 'next/navigation'
import { useEffect } from 'react'

/** Loads the page's figures again every two seconds while a job is under way; without JavaScript there is a link. */
export function LookAgain({ href }: { href: string }) {
  const router = useRouter()
  useEffect(() => {
    const timer = setInterval(() => router.refresh(), 2000)
    return () => clearInterval(timer)
  }, [router])
  return (
    <noscript>
      <a href={href}>Look again</a>
    </noscript>
  )
}
