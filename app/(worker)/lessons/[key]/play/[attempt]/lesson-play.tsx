'use client'
import { startTransition, useCallback } from 'react'
import { SyncRefused } from '@/app/play/event-queue'
import { LocalPlayer } from '@/app/play/local-player'
import type { EquipmentProfile, Locale, PlayEvent, Scenario } from '@/lib/scenarios/schema'
import { startLessonAction } from '../../../actions'

/** The server keeps the log; what it refuses for good (signed out, another device went on) isn't tried again. */
async function sendEvents(attemptId: string, events: PlayEvent[], from: number): Promise<void> {
  const answer = await fetch(`/api/attempts/${attemptId}/events`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ from, events }),
    keepalive: true,
  })
  if (answer.ok) return
  if ([401, 403, 404, 409, 422].includes(answer.status)) throw new SyncRefused(String(answer.status))
  throw new Error(String(answer.status))
}

export function LessonPlay({
  attemptId,
  lessonKey,
  scenario,
  profile,
  texts,
  locale,
  storedEvents,
}: {
  attemptId: string
  lessonKey: string
  scenario: Scenario
  profile: EquipmentProfile
  texts: Record<string, string>
  locale: Locale
  storedEvents: PlayEvent[]
}) {
  const onEvents = useCallback(
    (events: PlayEvent[], from: number) => sendEvents(attemptId, events, from),
    [attemptId],
  )
  return (
    <LocalPlayer
      key={attemptId}
      scenario={scenario}
      profile={profile}
      locale={locale}
      texts={texts}
      mode="practice"
      attemptKey={attemptId}
      initialEvents={storedEvents}
      onEvents={onEvents}
      jobAidHref={`/lessons/${lessonKey}/job-aid`}
      onAgain={() => {
        const form = new FormData()
        form.set('key', lessonKey)
        startTransition(async () => {
          await startLessonAction({ status: 'idle' }, form)
        })
      }}
      onLeave={() => window.location.assign('/path')}
    />
  )
}
