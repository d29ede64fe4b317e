'use client'
import { useOutcome } from '@/app/ui/action-form'
import type { ShownVerdict } from './shown-verdict'
import { VerdictPanel } from './verdict-panel'

/** The verdict about a pasted or uploaded credential, above its form. */
export function FileAnswer() {
  const outcome = useOutcome()
  const verdict = outcome.status === 'done' ? (outcome.value as ShownVerdict | undefined) : undefined
  return verdict ? (
    <div role="status">
      <VerdictPanel verdict={verdict} />
    </div>
  ) : null
}
