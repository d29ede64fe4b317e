'use client'

import type { EquipmentProfile, Scenario, StationSetup } from '@/lib/scenarios/schema'
import { Explanations } from './feedback'
import { stationView } from './stations'
import type { StationProps } from './stations/parts'
import type { PastStep } from './use-play'
import type { PlayStrings } from './words/en'

interface Props {
  past: PastStep
  /** The full scenario in practice, null in graded play. */
  scenario: Scenario | null
  stations: Record<string, StationSetup>
  profile: EquipmentProfile
  text(key: string): string
  strings: PlayStrings
}

/** A step that was left, as it stood: nothing in it can be changed. */
export function PastStepView({ past, scenario, stations, profile, text, strings }: Props) {
  const { step, state, last, marks } = past
  const setup = step.kind === 'operate' ? stations[step.station] : undefined
  const view = setup ? stationView(setup.kind) : null
  const station = {
    setup,
    profile,
    state: step.kind === 'operate' ? state.stations[step.station] : undefined,
    strings: strings.station,
    text,
    locked: true,
    allowed: () => true,
    send: () => {},
  } as unknown as StationProps<never, never>
  return (
    <>
      {last.type === 'choose' && step.kind === 'decide' && step.options.length > 1 ? (
        <p className="play-chosen">
          <strong>{strings.yourAnswer}</strong> {text(`${step.id}.${last.option}`)}
        </p>
      ) : null}
      {view && state.stations[step.kind === 'operate' ? step.station : ''] ? (
        <view.Drawing {...station} />
      ) : null}
      {step.kind === 'order' ? (
        <ol className="play-list">
          {state.order.map((item) => (
            <li key={item}>{text(`${step.id}.${item}`)}</li>
          ))}
        </ol>
      ) : null}
      {step.kind === 'spot' ? (
        <ul className="play-list">
          {state.marked.map((thing) => (
            <li key={thing}>{text(`${step.id}.${thing}`)}</li>
          ))}
        </ul>
      ) : null}
      {scenario ? <Explanations {...{ scenario, marks, state, text, strings }} /> : null}
    </>
  )
}
