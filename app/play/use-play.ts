'use client'

import { useCallback, useEffect, useMemo, useRef, useState } from 'react'
import { type GradedView, predict } from '@/lib/scenarios/core/graded'
import { type PlayStep, playStep, type StrippedScenario } from '@/lib/scenarios/core/strip'
import { type Mark, type PlayState, startScenario, stepOf, transition } from '@/lib/scenarios/core/transition'
import type { EquipmentProfile, PlayEvent, Scenario } from '@/lib/scenarios/schema'
import { createEventQueue, type EventQueue, type SyncStatus } from './event-queue'

/** A step that was left: enough to look back at it. */
export interface PastStep {
  step: PlayStep
  /** As it stood when it was left. */
  state: PlayState
  last: PlayEvent
  /** Every mark of this visit; empty in graded play. */
  marks: Mark[]
}

/** Where the person is now, and how they came there. */
export interface Course {
  step: PlayStep
  state: PlayState
  past: PastStep[]
  marks: Mark[]
  /** Marks of the last event, and whether it ended a step: what the player explains. */
  lastMarks: Mark[]
  /** Marks of this visit so far. */
  here: Mark[]
  finished: boolean
  count: number
}

const isFull = (scenario: Scenario | StrippedScenario): scenario is Scenario => !('stripped' in scenario)

function practiceStart(scenario: Scenario, profile: EquipmentProfile): Course {
  const state = startScenario(scenario, profile)
  const step = playStep(scenario, stepOf(scenario, state.step))
  return { step, state, past: [], marks: [], lastMarks: [], here: [], finished: false, count: 0 }
}

/** One event further, in the browser. */
export function advanceCourse(
  scenario: Scenario,
  profile: EquipmentProfile,
  course: Course,
  event: PlayEvent,
): Course {
  const next = transition(scenario, profile, course.state, event)
  const here = [...course.here, ...next.marks]
  const moved = {
    ...course,
    state: next.state,
    marks: [...course.marks, ...next.marks],
    lastMarks: next.marks,
    here,
    count: course.count + 1,
  }
  if (!next.left) return moved
  const step = stepOf(scenario, next.state.step)
  return {
    ...moved,
    step: step.kind === 'end' ? { kind: 'end', id: step.id, mood: step.mood } : playStep(scenario, step),
    past: [...course.past, { step: course.step, state: course.state, last: event, marks: here }],
    here: [],
    finished: step.kind === 'end',
  }
}

export interface PlayParts {
  scenario: Scenario | StrippedScenario
  profile: EquipmentProfile
  attemptKey: string
  initialEvents: readonly PlayEvent[]
  initialView?: GradedView | undefined
  mode: 'practice' | 'graded'
  onEvents?: ((events: PlayEvent[], from: number) => Promise<void> | void) | undefined
  advance?: ((event: PlayEvent, at: number) => Promise<GradedView>) | undefined
}

export interface Play {
  course: Course
  status: SyncStatus
  /** Texts that came with steps in graded play. */
  extraTexts: Record<string, string>
  /** Graded: an answer is on its way and may end the step. */
  pending: boolean
  /** Steps that were behind the person when the page was opened: their explanations were shown before. */
  resumedAt: number
  dispatch(event: PlayEvent): void
  forget(): void
}

/** Plays a scenario: in practice at once in the browser, with the log sent after; in graded play step by step through
 *  the server, showing meanwhile what an event surely changes. */
export function usePlay(parts: PlayParts): Play {
  const { scenario, profile, mode } = parts
  const latest = useRef(parts)
  useEffect(() => {
    latest.current = parts
  })
  const first = useMemo<Course>(() => {
    if (mode === 'practice' && isFull(scenario))
      return parts.initialEvents.reduce(
        (course, event) => advanceCourse(scenario, profile, course, event),
        practiceStart(scenario, profile),
      )
    const view = parts.initialView
    if (!view) throw new Error('Graded play starts with a view from the server')
    return {
      step: view.step,
      state: view.state,
      past: [],
      marks: [],
      lastMarks: [],
      here: [],
      finished: view.finished,
      count: view.at,
    }
  }, [scenario, profile, mode, parts.initialEvents, parts.initialView])

  const [course, setCourse] = useState(first)
  const [status, setStatus] = useState<SyncStatus>('saved')
  const [extraTexts, setExtraTexts] = useState<Record<string, string>>(parts.initialView?.texts ?? {})
  const [pending, setPending] = useState(false)
  const [resumedAt, setResumedAt] = useState(first.past.length)
  const queue = useRef<EventQueue | null>(null)
  /** Graded: what the server has confirmed. */
  const confirmed = useRef<Course>(first)

  useEffect(() => {
    let storage: Storage | null = null
    try {
      storage = window.localStorage
    } catch {
      storage = null
    }
    const showGraded = () => {
      const held = queue.current
      if (!held) return
      const base = confirmed.current
      const waiting = held.events.slice(base.count)
      const stripped = scenario as StrippedScenario
      const state = waiting.reduce((s, e) => predict(stripped, profile, base.step, s, e), base.state)
      setCourse({ ...base, state })
      setPending(waiting.length > 0)
    }
    const made = createEventQueue({
      storage,
      key: `play:${parts.attemptKey}`,
      initial: parts.initialEvents,
      batch: mode === 'graded' ? 1 : undefined,
      async send(events, from) {
        if (mode === 'practice') {
          await latest.current.onEvents?.([...events], from)
          return
        }
        const event = events[0]!
        const view = await latest.current.advance!(event, from)
        const base = confirmed.current
        const left = view.step.id !== base.step.id || view.finished
        confirmed.current = {
          ...base,
          step: view.step,
          state: view.state,
          finished: view.finished,
          count: from + 1,
          past: left
            ? [...base.past, { step: base.step, state: base.state, last: event, marks: [] }]
            : base.past,
        }
        setExtraTexts((held) => ({ ...held, ...view.texts }))
        // After the queue has counted this event as acknowledged.
        queueMicrotask(showGraded)
      },
      onChange: () => setStatus(made.status),
    })
    queue.current = made
    setStatus(made.status)
    // What this device knows beyond the server's log: go on from there.
    if (mode === 'practice' && isFull(scenario) && made.events.length > parts.initialEvents.length) {
      const resumed = made.events
        .slice(parts.initialEvents.length)
        .reduce((c, event) => advanceCourse(scenario, profile, c, event), first)
      setCourse(resumed)
      setResumedAt(resumed.past.length)
    }
    if (mode === 'graded') showGraded()
    const wake = () => made.wake()
    window.addEventListener('online', wake)
    return () => {
      window.removeEventListener('online', wake)
      made.stop()
    }
  }, [scenario, profile, mode, parts.attemptKey, parts.initialEvents, first])

  const dispatch = useCallback(
    (event: PlayEvent) => {
      const held = queue.current
      if (!held) return
      if (mode === 'practice' && isFull(scenario)) {
        setCourse((c) => advanceCourse(scenario, profile, c, event))
        held.add(event)
        return
      }
      held.add(event)
      const base = confirmed.current
      const waiting = held.events.slice(base.count)
      setCourse({
        ...base,
        state: waiting.reduce(
          (s, e) => predict(scenario as StrippedScenario, profile, base.step, s, e),
          base.state,
        ),
      })
      setPending(true)
    },
    [scenario, profile, mode],
  )

  return { course, status, extraTexts, pending, resumedAt, dispatch, forget: () => queue.current?.clear() }
}
