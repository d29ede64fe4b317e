'use client'
import { usePathname, useRouter } from 'next/navigation'
import { type ReactNode, useEffect, useRef, useTransition } from 'react'

const PAUSE_MS = 250

/** A filter that searches as you type. Without JavaScript it is a plain form with its own button. */
export function LiveFilter({ children }: { children: ReactNode }) {
  const router = useRouter()
  const path = usePathname()
  const timer = useRef<ReturnType<typeof setTimeout>>(undefined)
  const [searching, start] = useTransition()
  useEffect(() => () => clearTimeout(timer.current), [])
  const search = (form: HTMLFormElement) => {
    const query = new URLSearchParams()
    for (const [name, value] of new FormData(form))
      if (typeof value === 'string' && value.trim() !== '') query.set(name, value)
    start(() => router.replace(query.size > 0 ? `${path}?${query}` : path, { scroll: false }))
  }
  return (
    <form
      method="get"
      className="filter"
      aria-busy={searching}
      onInput={(event) => {
        const form = event.currentTarget
        clearTimeout(timer.current)
        timer.current = setTimeout(() => search(form), PAUSE_MS)
      }}
      onSubmit={(event) => {
        event.preventDefault()
        clearTimeout(timer.current)
        search(event.currentTarget)
      }}
    >
      {children}
    </form>
  )
}
