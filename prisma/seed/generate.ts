import { type CivilDate, civilDate } from '@/lib/kernel/dates'
import { readSeedContent, type SeedContent } from './content'
import { generateCounty } from './county'
import { DEMO_STATE } from './larkmoor'
import type { CountyRows } from './rows'

export interface SizeWanted {
  places: number
  people: number
  seed: string
  /** Default 1 September 2028, two months before an election: benchmarks don't change with the calendar. */
  today?: CivilDate
  /** The county's id. */
  key?: string
  content?: SeedContent
}

/** Fewer people a place than this: smaller crews, since no county could fill the full ones. */
const LEAN_BELOW = 9
const BENCH_TODAY = civilDate('2028-09-01')

/** A county of any size for benchmarks: from a few places to 4,500 places and 30,000 people. Land, precincts (42 for
 *  31 places) and early voting (one site for sixteen places) grow with the places. O(places + people). */
export function generateAnySize(wanted: SizeWanted): CountyRows {
  const { places, people, seed, today = BENCH_TODAY, key = `bench-${places}-${people}` } = wanted
  return generateCounty({
    key,
    name: `Bench County ${places}/${people}`,
    stateId: DEMO_STATE.id,
    timeZone: DEMO_STATE.timeZone,
    seed,
    today,
    places,
    people,
    precincts: Math.max(places, Math.round((places * 42) / 31)),
    earlyVotingSites: Math.max(1, Math.round(places / 16)),
    origin: [36, -99],
    crew: people < LEAN_BELOW * places ? 'lean' : 'full',
    ...(wanted.content ?? readSeedContent()),
  })
}
