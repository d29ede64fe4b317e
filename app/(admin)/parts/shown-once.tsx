'use client'
import { useOutcome } from '@/app/ui/action-form'

/** What an action answered to be shown this once. */
export function ShownOnce({ label }: { label: string }) {
  const outcome = useOutcome()
  const value = outcome.status === 'done' ? (outcome.value as { shownOnce?: string } | undefined) : undefined
  if (!value?.shownOnce) return null
  return (
    <p>
      {label}: <code className="shown-once">{value.shownOnce}</code>
    </p>
  )
}
