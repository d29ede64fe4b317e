import type { StationKind } from '@/lib/scenarios/schema'
import { accessView } from './access'
import { ballotMarkingView } from './ballot-marking'
import { checkInView } from './check-in'
import { exitView } from './exit'
import type { StationView } from './parts'
import { scannerView } from './scanner'
import { sealsView } from './seals'

const VIEWS: { [K in StationKind]: StationView<K, never> } = {
  'ballot-marking': ballotMarkingView as never,
  'check-in': checkInView as never,
  scanner: scannerView as never,
  access: accessView as never,
  exit: exitView as never,
  seals: sealsView as never,
}

/** The drawing of a kind of station. */
export const stationView = (kind: StationKind): StationView<never, never> =>
  VIEWS[kind] as unknown as StationView<never, never>
