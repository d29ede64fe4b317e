import type { EquipmentProfile, SetupOf, StationKind } from '../../schema'
import type { Facts } from '../facts'

/** What somebody does to a station: a type and its few fields. Comes from a browser, so nothing in it is trusted. */
export interface StationEvent {
  readonly type: string
  readonly [field: string]: unknown
}

/** A simulated piece of polling-place equipment: a pure state machine. States are plain JSON. */
export interface Machine<K extends StationKind = StationKind, S extends object = object> {
  readonly kind: K
  /** Every event type, for the checker and the authoring guide. */
  readonly events: readonly string[]
  start(setup: SetupOf<K>, profile: EquipmentProfile): S
  /** The state after an event, or null where the event is not allowed in this state. Never mutates. */
  apply(setup: SetupOf<K>, profile: EquipmentProfile, state: S, event: StationEvent): S | null
  /** What conditions can ask. The names are the contract with authors (AUTHORING.md). */
  facts(setup: SetupOf<K>, profile: EquipmentProfile, state: S): Facts
  /** The events worth trying in a state: the drawing's buttons and the path generator use them. */
  moves(setup: SetupOf<K>, profile: EquipmentProfile, state: S): StationEvent[]
}

export const defineMachine = <K extends StationKind, S extends object>(
  machine: Machine<K, S>,
): Machine<K, S> => machine
