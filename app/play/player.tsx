'use client'

import { useCallback, useEffect, useRef, useState } from 'react'
import type { GradedView } from '@/lib/scenarios/core/graded'
import type { StrippedScenario } from '@/lib/scenarios/core/strip'
import type { EquipmentProfile, Locale, PlayEvent, Scenario } from '@/lib/scenarios/schema'
import { PracticeResult } from './end'
import { Explanations } from './feedback'
import { Listen } from './listen'
import { PastStepView } from './look-back'
import { OperateStepView } from './operate'
import { ScenePicture } from './scenes'
import { DecideStepView, OrderStepView, SpotStepView, type StepProps } from './steps'
import { type PastStep, usePlay } from './use-play'
import type { PlayStrings } from './words/en'
import './play.css'

export interface ScenarioPlayerProps {
  /** Practice: the full scenario, played in the browser at once. Graded: `stripScenario(…, [first step])`. */
  scenario: Scenario | StrippedScenario
  profile: EquipmentProfile
  locale: Locale
  /** The player's own words in that language. */
  strings: PlayStrings
  /** `textsFor(scenario, profile, locale, { graded })`. */
  texts: Record<string, string>
  mode: 'practice' | 'graded'
  /** Names the copy of the log on this device; one attempt, one key. */
  attemptKey: string
  /** The server's log so far: the lesson goes on from there, also on another device. */
  initialEvents: readonly PlayEvent[]
  /** Graded: `gradedView(…)` after `initialEvents`. */
  initialView?: GradedView
  /** Practice: appends events; the first has index `from`. Called again with the same events until it resolves, so it
   *  must be idempotent by index. Throw `SyncRefused` where trying again can't help. */
  onEvents?: (events: PlayEvent[], from: number) => Promise<void> | void
  /** Graded: appends the event with index `at` (idempotent) and answers with the next view. */
  advance?: (event: PlayEvent, at: number) => Promise<GradedView>
  /** Called once when an end is reached; the button 'Finish' calls `onLeave`. */
  onFinish?: () => void
  onLeave?: () => void
  /** Practice: starts a new attempt. */
  onAgain?: () => void
  jobAidHref?: string
}

/** Plays one lesson: one thing on a screen, by touch, mouse, keyboard or screen reader. */
export function ScenarioPlayer(props: ScenarioPlayerProps) {
  const { scenario, profile, locale, mode, strings } = props
  const { course, status, extraTexts, pending, resumedAt, dispatch, forget } = usePlay(props)
  const full = 'stripped' in scenario ? null : scenario
  const text = useCallback(
    (key: string) => extraTexts[key] ?? props.texts[key] ?? '',
    [extraTexts, props.texts],
  )

  const [said, setSaid] = useState('')
  const announce = useCallback(
    (words: string) => setSaid((held) => (held === words ? `${words} ` : words)),
    [],
  )
  /** Index of the past step that is looked at, or null: now. */
  const [looking, setLooking] = useState<number | null>(null)
  /** Past steps whose explanation has been read. */
  const [readTo, setRead] = useState(course.past.length)
  const read = Math.max(readTo, resumedAt)
  const [hint, setHint] = useState<string | null>(null)

  const lastPast: PastStep | undefined = course.past.at(-1)
  const explaining =
    full !== null && looking === null && read < course.past.length && (lastPast?.marks.length ?? 0) > 0
  const screen =
    looking !== null
      ? `past-${looking}`
      : explaining
        ? `why-${course.past.length}`
        : `now-${course.past.length}`

  const heading = useRef<HTMLHeadingElement>(null)
  const shown = useRef(screen)
  useEffect(() => {
    if (shown.current === screen) return
    shown.current = screen
    heading.current?.focus()
    heading.current?.scrollIntoView({ block: 'start', behavior: 'auto' })
  }, [screen])

  // A mark inside a step (not ending it) is explained on the spot and announced.
  const here = full && looking === null && !explaining ? course.here : []
  const newest = here.at(-1)
  useEffect(() => {
    if (newest)
      announce(`${strings.judgement[newest.judgement]}. ${text(`${newest.step}.${newest.act}.why`)}`)
  }, [newest, announce, strings, text])

  const finished = course.finished && !explaining
  const told = useRef(false)
  useEffect(() => {
    if (!course.finished || status !== 'saved' || told.current) return
    told.current = true
    props.onFinish?.()
    forget()
  })

  const goOn = () => setRead(course.past.length)
  const back = () => setLooking((looking ?? course.past.length) - 1)
  const canGoBack = (looking ?? course.past.length) > 0
  const past = looking === null ? null : course.past[looking]!
  const step = past?.step ?? (explaining ? lastPast!.step : course.step)
  const title = text(`${step.id}.title`)
  const paragraphs = text(`${step.id}.text`)
    .split(/\n{2,}/)
    .filter(Boolean)
  const locked = past !== null || (mode === 'graded' && pending && step.kind === 'decide')
  const shared: Omit<StepProps<never>, 'step'> = {
    state: course.state,
    text,
    strings,
    graded: mode === 'graded',
    locked,
    dispatch,
    announce,
  }
  const spoken = explaining
    ? lastPast!.marks.map((m) => text(`${m.step}.${m.act}.why`)).join(' ')
    : [title, ...paragraphs, ...optionTexts(step, course.state.order, text)].join('. ')

  return (
    <div className="play" data-step={step.id} data-screen={explaining ? 'why' : past ? 'past' : 'now'}>
      <noscript>
        <p className="play-note">{strings.needsScript}</p>
      </noscript>
      <div className="play-bar-top">
        <button
          type="button"
          className="play-small"
          aria-disabled={!canGoBack}
          onClick={() => canGoBack && back()}
        >
          {strings.back}
        </button>
        <Listen text={spoken} locale={locale} strings={strings} />
        <span className="play-soft play-status" data-sync={status}>
          {status === 'saved' ? strings.saved : status === 'saving' ? strings.saving : ''}
        </span>
      </div>
      {status === 'offline' || status === 'refused' ? (
        <p className="play-note" role="status">
          {status === 'refused'
            ? strings.refused
            : mode === 'graded'
              ? strings.offlineGraded
              : strings.offline}
        </p>
      ) : null}
      <p className="play-live" aria-live="polite" aria-atomic="true">
        {said}
      </p>

      <h2 ref={heading} tabIndex={-1} className="play-title">
        {explaining ? strings.whatHappened : title}
      </h2>

      {past ? (
        <>
          <p className="play-note">{strings.lookingBack}</p>
          {paragraphs.map((p) => (
            <p key={p}>{p}</p>
          ))}
          <PastStepView
            past={past}
            scenario={full}
            stations={scenario.stations}
            {...{ profile, text, strings }}
          />
          <button type="button" className="play-main" onClick={() => setLooking(null)}>
            {strings.backToNow}
          </button>
        </>
      ) : explaining && full ? (
        <>
          <Explanations
            scenario={full}
            marks={lastPast!.marks}
            state={lastPast!.state}
            text={text}
            strings={strings}
          />
          <button type="button" className="play-main" data-go-on onClick={goOn}>
            {strings.goOn}
          </button>
        </>
      ) : (
        <>
          {step.kind === 'decide' ? <ScenePicture scene={step.scene} /> : null}
          {step.kind === 'end' && mode === 'graded' ? (
            <>
              <p>{strings.gradedDone}</p>
              <p>{strings.gradedDoneText}</p>
            </>
          ) : null}
          {paragraphs.map((p) => (
            <p key={p}>{p}</p>
          ))}
          {text(`${step.id}.hint`) && step.kind !== 'end' ? (
            hint === step.id ? (
              <p className="play-note">{text(`${step.id}.hint`)}</p>
            ) : (
              <button
                type="button"
                className="play-small"
                onClick={() => {
                  setHint(step.id)
                  announce(text(`${step.id}.hint`))
                }}
              >
                {strings.hint}
              </button>
            )
          ) : null}
          {step.kind === 'decide' ? <DecideStepView {...shared} step={step} /> : null}
          {step.kind === 'spot' ? <SpotStepView {...shared} step={step} /> : null}
          {step.kind === 'order' ? <OrderStepView {...shared} step={step} /> : null}
          {step.kind === 'operate' ? (
            <OperateStepView
              key={`${step.id}-${course.past.length}`}
              {...shared}
              step={step}
              setup={scenario.stations[step.station]!}
              profile={profile}
              notes={
                full && here.length > 0 ? (
                  <Explanations
                    scenario={full}
                    marks={here}
                    state={course.state}
                    text={text}
                    strings={strings}
                  />
                ) : null
              }
            />
          ) : null}
          {finished && full ? <PracticeResult marks={course.marks} text={text} strings={strings} /> : null}
          {finished ? (
            <div className="play-actions">
              {props.jobAidHref ? (
                <a className="play-action" href={props.jobAidHref}>
                  {strings.jobAid}
                </a>
              ) : null}
              {full && props.onAgain ? (
                <button type="button" className="play-action" onClick={props.onAgain}>
                  {strings.again}
                </button>
              ) : null}
              {props.onLeave ? (
                <button type="button" className="play-main" data-finish onClick={props.onLeave}>
                  {strings.finish}
                </button>
              ) : null}
            </div>
          ) : null}
        </>
      )}
      {course.past.length === 0 || finished ? (
        <p className="play-soft play-caution">{strings.caution}</p>
      ) : null}
    </div>
  )
}

/** What can be chosen, for the voice. */
function optionTexts(
  step: PastStep['step'],
  order: readonly string[],
  text: (key: string) => string,
): string[] {
  switch (step.kind) {
    case 'decide':
      return step.options.map((o) => text(`${step.id}.${o.id}`))
    case 'spot':
      return step.things.map((t) => text(`${step.id}.${t.id}`))
    case 'order':
      return order.map((item) => text(`${step.id}.${item}`))
    case 'operate':
      return [text(`${step.id}.goal`)]
    case 'end':
      return []
  }
}
