import type { CivilDate } from '@/lib/kernel/dates'
import { makeAccounts } from './accounts'
import type { SeedQuiz } from './attempts'
import type { SeedContent } from './content'
import { type CountyWanted, generateCounty } from './county'
import { DEMO_CARDS, STAFF_SIGN_INS } from './demo'
import { idsOf } from './ids'
import type { AccountRow, CountyRows, GrantRow, StateRow } from './rows'

export const DEMO_SEED = 'larkmoor-1'
export const DEMO_STATE: StateRow = {
  id: 'arden',
  name: 'State of Arden',
  abbreviation: 'AD',
  timeZone: 'America/Chicago',
}

const staffOf = (countyId: string) => STAFF_SIGN_INS.filter((staff) => staff.countyId === countyId)
const shared = { stateId: DEMO_STATE.id, timeZone: DEMO_STATE.timeZone }

export const LARKMOOR = {
  ...shared,
  key: 'larkmoor',
  name: 'Larkmoor County',
  places: 31,
  people: 460,
  precincts: 42,
  earlyVotingSites: 2,
  origin: [41.8, -91.3],
  staff: staffOf('larkmoor'),
  office: {
    phone: '555-0100',
    hours: 'Monday to Friday, 8:30 to 4:30',
    opens: ['07:00', '20:00'],
    opensEarly: ['09:00', '17:00'],
  },
  rosterRules: {
    balance: 'counted',
    firstParty: 'Democratic',
    secondParty: 'Republican',
    leadAndDeputy: 'different',
    language: 'es',
    speakers: 1,
    returnMiles: 1,
  },
  cards: DEMO_CARDS,
} satisfies Partial<CountyWanted>

/** A small neighbour to the north, so that the border between counties can be seen. */
export const FENNICK = {
  ...shared,
  key: 'fennick',
  name: 'Fennick County',
  places: 6,
  people: 40,
  precincts: 8,
  earlyVotingSites: 0,
  origin: [42.3, -91.3],
  staff: staffOf('fennick'),
} satisfies Partial<CountyWanted>

export interface DemoState {
  state: StateRow
  /** Accounts of the state office. */
  accounts: AccountRow[]
  grants: GrantRow[]
  counties: CountyRows[]
}

/** The whole demonstration: the invented State of Arden with Larkmoor and Fennick. */
export function generateDemo(
  options: { today: CivilDate; seed?: string; quiz?: SeedQuiz } & SeedContent,
): DemoState {
  const { today, policies, equipmentProfiles, quiz, seed = DEMO_SEED } = options
  const { accounts, grants } = makeAccounts(idsOf(`${seed}/state`), {
    countyId: null,
    pollWorkers: [],
    staff: STAFF_SIGN_INS.filter((staff) => staff.countyId === null),
    cards: [],
    cardsExpireOn: today,
  })
  const make = (county: typeof LARKMOOR | typeof FENNICK) =>
    generateCounty({ ...(county as typeof LARKMOOR), seed, today, policies, equipmentProfiles, quiz })
  return { state: DEMO_STATE, accounts, grants, counties: [make(LARKMOOR), make(FENNICK)] }
}
