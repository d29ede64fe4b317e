'use client'

import type { StationEvent } from '@/lib/scenarios/core/stations/machine'
import type { EquipmentProfile, SetupOf, StationKind } from '@/lib/scenarios/schema'
import type { StationStrings } from '../words/en-station'

/** What every station drawing gets. */
export interface StationProps<K extends StationKind, S> {
  setup: SetupOf<K>
  profile: EquipmentProfile
  state: S
  strings: StationStrings
  /** The lesson's texts: labels of contests and seals are `station.<label>`. */
  text(key: string): string
  /** Whether an event type can be used in this step. */
  allowed(type: string): boolean
  /** Looking back, or waiting. */
  locked: boolean
  send(event: StationEvent): void
}

/** A station in words and in a drawing. */
export interface StationView<K extends StationKind, S> {
  /** What there is to see, one sentence each: the caption; those that are new are announced. */
  lines(props: StationProps<K, S>): string[]
  Drawing(props: StationProps<K, S>): React.ReactNode
  Controls(props: StationProps<K, S>): React.ReactNode
}

interface ActionProps {
  event: StationEvent
  label: string
  /** Possible in this state. Kept in place when not, so that the keyboard's focus isn't lost. */
  can: boolean
  main?: boolean
  pressed?: boolean | undefined
  props: { locked: boolean; allowed(type: string): boolean; send(event: StationEvent): void }
}

export function Action({ event, label, can, main = false, pressed, props }: ActionProps) {
  if (!props.allowed(event.type)) return null
  const off = !can || props.locked
  return (
    <button
      type="button"
      className={main ? 'play-action play-action-main' : 'play-action'}
      aria-disabled={off}
      aria-pressed={pressed}
      data-station-event={JSON.stringify(event)}
      onClick={() => !off && props.send(event)}
    >
      {label}
    </button>
  )
}

export const Group = ({ label, children }: { label?: string; children: React.ReactNode }) => (
  // biome-ignore lint/a11y/useSemanticElements: a fieldset's legend would be styled against its nature here
  <div className="play-group" role="group" aria-label={label}>
    {label ? (
      <p className="play-group-name" aria-hidden="true">
        {label}
      </p>
    ) : null}
    <div className="play-actions">{children}</div>
  </div>
)
