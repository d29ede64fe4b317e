import { invariant } from '@/lib/kernel/errors'
import type { Scenario, StationKind, StationSetup } from '../../schema'
import { ballotMarking } from './ballot-marking'
import type { Machine } from './machine'

const MACHINES: { [K in StationKind]?: Machine<K, never> } = {
  'ballot-marking': ballotMarking as never,
}

/** The machine that a setup belongs to. */
export function machineOf(setup: StationSetup): Machine<never, object> {
  const machine = MACHINES[setup.kind]
  invariant(machine, `there is a machine for the station kind "${setup.kind}"`)
  return machine as unknown as Machine<never, object>
}

/** A scenario's station by name. @throws RangeError where there is none. */
export function setupOf(scenario: Pick<Scenario, 'id' | 'stations'>, name: string): never {
  const setup = scenario.stations[name]
  if (!setup) throw new RangeError(`scenario "${scenario.id}" has no station "${name}"`)
  return setup as never
}
