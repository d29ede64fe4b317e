'use client'

import type { PlayDecide, PlayOrder, PlaySpot } from '@/lib/scenarios/core/strip'
import type { PlayState } from '@/lib/scenarios/core/transition'
import type { PlayEvent } from '@/lib/scenarios/schema'
import { ScenePicture } from './scenes'
import type { PlayStrings } from './words/en'

export interface StepProps<S> {
  step: S
  state: PlayState
  text(key: string): string
  strings: PlayStrings
  graded: boolean
  /** No way to answer now: looking back, or an answer is on its way. */
  locked: boolean
  dispatch(event: PlayEvent): void
  announce(text: string): void
}

export function DecideStepView({ step, text, locked, dispatch }: StepProps<PlayDecide>) {
  return (
    <ul className="play-options">
      {step.options.map((option) => (
        <li key={option.id}>
          <button
            type="button"
            className={step.options.length === 1 ? 'play-main' : 'play-option'}
            data-option={option.id}
            aria-disabled={locked}
            onClick={() => !locked && dispatch({ type: 'choose', option: option.id })}
          >
            {text(`${step.id}.${option.id}`)}
          </button>
        </li>
      ))}
    </ul>
  )
}

export function SpotStepView(props: StepProps<PlaySpot>) {
  const { step, state, text, strings, graded, locked, dispatch, announce } = props
  return (
    <>
      <p className="play-task">{strings.spotTask}</p>
      <ScenePicture scene={step.scene} dots={step.things.map((t) => state.marked.includes(t.id))} />
      <ol className="play-options play-things">
        {step.things.map((thing, i) => {
          const marked = state.marked.includes(thing.id)
          const label = text(`${step.id}.${thing.id}`)
          return (
            <li key={thing.id}>
              <button
                type="button"
                className="play-option play-toggle"
                aria-pressed={marked}
                aria-disabled={locked}
                data-thing={thing.id}
                onClick={() => {
                  if (locked) return
                  dispatch({ type: 'mark', thing: thing.id })
                  announce(marked ? strings.spotUnmarked(label) : strings.spotMarked(label))
                }}
              >
                <span className="play-number" aria-hidden="true">
                  {marked ? '✕' : i + 1}
                </span>
                {label}
              </button>
            </li>
          )
        })}
      </ol>
      <p className="play-soft">{strings.spotCount(state.marked.length)}</p>
      <HandIn {...{ strings, graded, locked, dispatch }} />
    </>
  )
}

export function OrderStepView(props: StepProps<PlayOrder>) {
  const { step, state, text, strings, graded, locked, dispatch, announce } = props
  const last = state.order.length - 1
  const move = (item: string, to: number) => {
    if (locked || to < 0 || to > last) return
    dispatch({ type: 'move', item, to })
    announce(strings.movedTo(text(`${step.id}.${item}`), to + 1, last + 1))
  }
  return (
    <>
      <p className="play-task">{strings.orderTask}</p>
      <ol className="play-order">
        {state.order.map((item, at) => {
          const label = text(`${step.id}.${item}`)
          return (
            <li key={item} data-item={item}>
              <span className="play-number" aria-hidden="true">
                {at + 1}
              </span>
              <span className="play-order-text">{label}</span>
              <span className="play-order-moves">
                <button
                  type="button"
                  aria-label={strings.up(label)}
                  aria-disabled={locked || at === 0}
                  data-move="up"
                  onClick={() => move(item, at - 1)}
                >
                  <Arrow up />
                </button>
                <button
                  type="button"
                  aria-label={strings.down(label)}
                  aria-disabled={locked || at === last}
                  data-move="down"
                  onClick={() => move(item, at + 1)}
                >
                  <Arrow />
                </button>
              </span>
            </li>
          )
        })}
      </ol>
      <HandIn {...{ strings, graded, locked, dispatch }} />
    </>
  )
}

const Arrow = ({ up = false }: { up?: boolean }) => (
  <svg aria-hidden="true" viewBox="0 0 24 24" width="24" height="24">
    <path
      d={up ? 'M5 15l7-7 7 7' : 'M5 9l7 7 7-7'}
      fill="none"
      stroke="currentColor"
      strokeWidth="3"
      strokeLinecap="round"
      strokeLinejoin="round"
    />
  </svg>
)

function HandIn(props: Pick<StepProps<unknown>, 'strings' | 'graded' | 'locked' | 'dispatch'>) {
  return (
    <button
      type="button"
      className="play-main"
      data-hand-in
      aria-disabled={props.locked}
      onClick={() => !props.locked && props.dispatch({ type: 'hand-in' })}
    >
      {props.graded ? props.strings.handInGraded : props.strings.handIn}
    </button>
  )
}
