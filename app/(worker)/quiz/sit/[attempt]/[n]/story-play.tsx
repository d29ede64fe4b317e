'use client'
import { useCallback, useEffect, useRef, useState } from 'react'
import { SyncRefused } from '@/app/play/event-queue'
import { LocalPlayer } from '@/app/play/local-player'
import type { Story } from '@/lib/assessment/queries'
import type { GradedView } from '@/lib/scenarios/core/graded'
import type { Locale, PlayEvent } from '@/lib/scenarios/schema'

/** The story of a quiz: each event goes to the server, which answers with the next step and nothing more. */
export function StoryPlay({
  attemptId,
  n,
  locale,
  story,
  doneText,
}: {
  attemptId: string
  n: number
  locale: Locale
  story: Story
  /** Said in place of the story once it is played to its end. */
  doneText: string
}) {
  const [done, setDone] = useState(story.view.finished)
  const told = useRef<HTMLDivElement>(null)
  useEffect(() => {
    if (done && !story.view.finished) told.current?.focus()
  }, [done, story.view.finished])
  const advance = useCallback(
    async (event: PlayEvent, at: number): Promise<GradedView> => {
      const answer = await fetch(`/api/attempts/${attemptId}/story/${n}`, {
        method: 'POST',
        headers: { 'Content-Type': 'application/json' },
        body: JSON.stringify({ from: at, event, locale }),
      })
      if (answer.ok) return (await answer.json()) as GradedView
      if ([401, 403, 404, 409, 422].includes(answer.status)) throw new SyncRefused(String(answer.status))
      throw new Error(String(answer.status))
    },
    [attemptId, n, locale],
  )
  if (done)
    return (
      <div className="notice" data-kind="good" ref={told} tabIndex={-1} role="status">
        <p>{doneText}</p>
      </div>
    )
  return (
    <LocalPlayer
      key={`${attemptId}-${n}`}
      scenario={story.scenario}
      profile={story.profile}
      locale={locale}
      texts={story.texts}
      mode="graded"
      attemptKey={`${attemptId}-${n}`}
      initialEvents={story.events}
      initialView={story.view}
      advance={advance}
      onFinish={() => setDone(true)}
    />
  )
}
