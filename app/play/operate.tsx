'use client'

import { useEffect, useRef } from 'react'
import type { StationEvent } from '@/lib/scenarios/core/stations/machine'
import type { PlayOperate } from '@/lib/scenarios/core/strip'
import type { EquipmentProfile, StationSetup } from '@/lib/scenarios/schema'
import { stationView } from './stations'
import type { StationProps } from './stations/parts'
import type { StepProps } from './steps'

interface Props extends StepProps<PlayOperate> {
  setup: StationSetup
  profile: EquipmentProfile
  /** What was judged so far in this step, shown where the eyes are: under the caption. */
  notes: React.ReactNode
}

/** A simulated station: drawing, caption in words, real buttons, and what a person does beside the machine. */
export function OperateStepView(props: Props) {
  const { step, setup, profile, state, text, strings, locked, dispatch, announce } = props
  const view = stationView(setup.kind)
  const station = {
    setup,
    profile,
    state: state.stations[step.station],
    strings: strings.station,
    text,
    locked,
    allowed: (type: string) => !step.controls || step.controls.includes(type),
    send: (event: StationEvent) => dispatch({ type: 'station', event }),
  } as unknown as StationProps<never, never>
  const lines = view.lines(station)
  const caption = useRef<HTMLUListElement>(null)
  const before = useRef(lines)
  const joined = lines.join('\n')

  useEffect(() => {
    const now = joined.split('\n')
    const fresh = now.filter((line) => !before.current.includes(line))
    if (fresh.length > 0) announce(fresh.join(' '))
    if (before.current.join('\n') !== joined && document.activeElement === document.body)
      // The button that was pressed is gone: the keyboard goes on from the caption.
      caption.current?.focus()
    before.current = now
  }, [joined, announce])

  return (
    <div className="play-operate">
      <p className="play-task">
        <strong>{strings.yourTask}: </strong>
        {text(`${step.id}.goal`)}
      </p>
      <div className="play-station">
        <view.Drawing {...station} />
        <ul className="play-caption" ref={caption} tabIndex={-1} aria-label={strings.atStation}>
          {lines.map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ul>
        {props.notes}
        <view.Controls {...station} />
      </div>
      {/* biome-ignore lint/a11y/useSemanticElements: the group's name stands above it as text */}
      <div className="play-group" role="group" aria-label={strings.beside}>
        <p className="play-group-name" aria-hidden="true">
          {strings.beside}
        </p>
        <div className="play-actions">
          {step.acts.map((act) => {
            const done = state.acts.includes(act.id)
            const label = text(`${step.id}.${act.id}`)
            return (
              <button
                key={act.id}
                type="button"
                className="play-action"
                aria-disabled={done || locked}
                data-act={act.id}
                onClick={() => {
                  if (done || locked) return
                  dispatch({ type: 'act', act: act.id })
                  announce(`${label}: ${strings.done}`)
                }}
              >
                <span>
                  {label}
                  {done ? <span className="play-soft"> · {strings.done}</span> : null}
                </span>
              </button>
            )
          })}
          <button
            type="button"
            className="play-action"
            aria-disabled={locked}
            data-ask-help
            onClick={() => !locked && dispatch({ type: 'ask-help' })}
          >
            {strings.askLead}
          </button>
        </div>
      </div>
    </div>
  )
}
