import type { ReactNode } from 'react'
import { ActionForm } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import { isUnderWay, type WorkState } from '@/lib/assessment/queries-work'
import { stopWorkAction } from './actions'
import { WorkProgress } from './work-progress'

/** Work on a quiz: how far it is, with a way to stop it; or that it ended early, and what that means. */
export function UnderWay({
  work,
  kind,
  quiz,
  mayStop,
  label,
  stopped,
  children,
}: {
  work: WorkState | null
  kind: 'statistics' | 'remark'
  quiz: { countyId: string; quizKey: string }
  mayStop: boolean
  label: string
  /** What to say where somebody stopped it. */
  stopped: string
  children?: ReactNode
}) {
  if (!work || work.status === 'done') return null
  if (!isUnderWay(work))
    return (
      <Notice kind="warn">
        <p>{work.status === 'cancelled' ? stopped : work.failure}</p>
        {children}
      </Notice>
    )
  const { status, stage, progress, cancelAsked } = work
  return (
    <section className="panel" aria-label={label}>
      <h2>{label}</h2>
      {children}
      <WorkProgress
        start={{ status, stage, progress, cancelAsked }}
        address={`/training/${quiz.countyId}/quizzes/${quiz.quizKey}/progress/${kind}`}
        label={label}
      />
      {mayStop && !cancelAsked && (
        <ActionForm action={stopWorkAction}>
          <input type="hidden" name="countyId" value={quiz.countyId} />
          <input type="hidden" name="quizKey" value={quiz.quizKey} />
          <input type="hidden" name="kind" value={kind} />
          <button type="submit">Stop</button>
        </ActionForm>
      )}
    </section>
  )
}
