/** Who can sign in to the demonstration. All of them are invented, and so is everything that they can see. */
import type { Access } from '@/prisma/client/enums'
import type { StandingPlan } from './plan'

/** The password of every demonstration account. Public on purpose: never in an installation with real people. */
export const DEMO_PASSWORD = 'larkmoor-demo-2026'

export interface StaffSignIn {
  label: string
  email: string
  name: string
  access: Access
  /** null: the state office, above all counties. */
  countyId: string | null
  /** What the account is for. */
  what: string
}

export const STAFF_SIGN_INS: readonly StaffSignIn[] = [
  {
    label: 'State office, administrator',
    email: 'state@demo.example',
    name: 'Ingrid Thornhurst',
    access: 'administrator',
    countyId: null,
    what: 'sees every county and manages accounts',
  },
  {
    label: 'Larkmoor County, administrator',
    email: 'admin@larkmoor.example',
    name: 'Desmond Farnley',
    access: 'administrator',
    countyId: 'larkmoor',
    what: 'manages the county, its accounts, its audit chain',
  },
  {
    label: 'Larkmoor County, staff',
    email: 'clerk@larkmoor.example',
    name: 'Paula Kesridge',
    access: 'countyStaff',
    countyId: 'larkmoor',
    what: 'people, the election, the roster',
  },
  {
    label: 'Larkmoor County, second staff account',
    email: 'clerk2@larkmoor.example',
    name: 'Anton Wickmere',
    access: 'countyStaff',
    countyId: 'larkmoor',
    what: 'the same, to try two clerks at once',
  },
  {
    label: 'Larkmoor County, trainer',
    email: 'trainer@larkmoor.example',
    name: 'Noor Selgill',
    access: 'trainer',
    countyId: 'larkmoor',
    what: 'check-offs and sign-in cards',
  },
  {
    label: 'Fennick County, staff',
    email: 'clerk@fennick.example',
    name: 'Bertil Quarholt',
    access: 'countyStaff',
    countyId: 'fennick',
    what: 'another county: nothing of Larkmoor is visible',
  },
]

export interface DemoCard {
  /** As printed on the sign-in card, in the shape that lib/auth gives a card's code. */
  code: string
  name: string
  what: string
  plan: StandingPlan
}

const card = (
  code: string,
  givenName: string,
  familyName: string,
  what: string,
  plan: Omit<StandingPlan, 'fixed'>,
  languages: string[] = ['en'],
): DemoCard => ({
  code,
  name: `${givenName} ${familyName}`,
  what,
  plan: {
    ...plan,
    fixed: {
      givenName,
      familyName,
      languages,
      // They come with a card because they have no e-mail at hand, and nothing stands in the way of a seat.
      email: null,
      offersShift: 'full',
      unavailableOn: [],
      maxTravelKm: null,
      confidentialAddress: false,
      accommodations: null,
      timeMultiplier: 1,
    },
  },
})

/** Four poll workers of Larkmoor with a printed sign-in card, each at another point of the path. */
export const DEMO_CARDS: readonly DemoCard[] = [
  card(
    'DEM01-7Q2MW',
    'Rosa',
    'Valdemora',
    'new, speaks Spanish, has done nothing yet',
    { track: 'check-in', standing: 'never' },
    ['es', 'en'],
  ),
  card('DEM02-3H9TK', 'Owen', 'Hathersby', 'half-way: lesson and quiz done, the check-off is missing', {
    track: 'check-in',
    standing: 'halfWay',
  }),
  card('DEM03-8V5CN', 'June', 'Ashcombe', 'certified through election day', {
    track: 'check-in',
    standing: 'current',
  }),
  card('DEM04-4X6RP', 'Walter', 'Brindley', 'certified now, but the certificate ends before election day', {
    track: 'ballot-station',
    standing: 'expiring',
  }),
]

export interface DemoSignIn {
  label: string
  /** Staff sign in by e-mail and `DEMO_PASSWORD`, poll workers by their card; the other one is null. */
  email: string | null
  cardCode: string | null
  what: string
}

/** Every way into the demonstration, for the start command and the sign-in page. */
export const DEMO_SIGN_INS: readonly DemoSignIn[] = [
  ...STAFF_SIGN_INS.map(({ label, email, what }) => ({ label, email, cardCode: null, what })),
  ...DEMO_CARDS.map(({ code, name, what }) => ({
    label: `Poll worker ${name}: ${what}`,
    email: null,
    cardCode: code,
    what,
  })),
]
