import type { Scenario, StationKind, StationSetup } from '../../schema'
import { access } from './access'
import { ballotMarking } from './ballot-marking'
import { checkIn } from './check-in'
import { exit } from './exit'
import type { Machine } from './machine'
import { scanner } from './scanner'
import { seals } from './seals'

const MACHINES: { [K in StationKind]: Machine<K, never> } = {
  'ballot-marking': ballotMarking as never,
  'check-in': checkIn as never,
  scanner: scanner as never,
  access: access as never,
  exit: exit as never,
  seals: seals as never,
}

/** The machine that a setup belongs to. Typed so that it takes what `setupOf` gives. */
export const machineOf = (setup: StationSetup): Machine<never, object> =>
  MACHINES[setup.kind] as unknown as Machine<never, object>

/** A scenario's station by name. @throws RangeError where there is none. */
export function setupOf(scenario: Pick<Scenario, 'id' | 'stations'>, name: string): never {
  const setup = scenario.stations[name]
  if (!setup) throw new RangeError(`scenario "${scenario.id}" has no station "${name}"`)
  return setup as never
}
