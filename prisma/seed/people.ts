import { addDays, type CivilDate } from '@/lib/kernel/dates'
import type { Random } from '@/lib/kernel/random'
import { type Bounds, chooser, pointNear, type Settlement } from './geography'
import type { IdKind } from './ids'
import { inventName, plainLetters, STREETS } from './names'
import type { PollWorkerRow } from './rows'
import { EARLY_DAYS, type PositionKey } from './seats'

/** Ages of poll workers in the 2020 general election: 6.2 % from 18 to 25, 15.0 % from 26 to 40, 27.3 % from 61 to
 *  70, 20.1 % from 71 (U.S. Election Assistance Commission, Election Administration and Voting Survey 2020); the
 *  rest, 31.4 %, from 41 to 60. The upper end is ours. */
export const AGE_BANDS = [
  { from: 18, to: 25, share: 0.062 },
  { from: 26, to: 40, share: 0.15 },
  { from: 41, to: 60, share: 0.314 },
  { from: 61, to: 70, share: 0.273 },
  { from: 71, to: 84, share: 0.201 },
] as const

/** Invented shares: a county with a Spanish-speaking minority and a few speakers of other languages. */
const LANGUAGES: readonly Shared<readonly string[]>[] = [
  { value: ['en'], share: 0.826 },
  { value: ['en', 'es'], share: 0.12 },
  { value: ['es'], share: 0.02 },
  { value: ['en', 'vi'], share: 0.012 },
  { value: ['en', 'ar'], share: 0.008 },
  { value: ['en', 'so'], share: 0.007 },
  { value: ['en', 'ase'], share: 0.007 },
]
const PARTIES: readonly Shared<string>[] = [
  { value: 'Democratic', share: 0.39 },
  { value: 'Republican', share: 0.39 },
  { value: 'unaffiliated', share: 0.22 },
]
const SHIFTS: readonly Shared<string>[] = [
  { value: 'full', share: 0.82 },
  { value: 'morning', share: 0.1 },
  { value: 'afternoon', share: 0.08 },
]
const ACCOMMODATIONS = [
  { text: 'Large print; needs a chair with a back.', timeMultiplier: 1 },
  { text: 'Extra time in quizzes.', timeMultiplier: 1.5 },
  { text: 'Uses a screen reader; extra time in quizzes.', timeMultiplier: 2 },
  { text: 'Step-free entrance; no lifting.', timeMultiplier: 1 },
  { text: 'Hard of hearing: face to face, no telephone.', timeMultiplier: 1 },
] as const

interface Shared<T> {
  value: T
  share: number
}

/** `count` values whose shares are met exactly but for rounding (largest remainders), in random order. */
export function quota<T>(random: Random, count: number, shares: readonly Shared<T>[]): T[] {
  const exact = shares.map(({ share }) => share * count)
  const counts = exact.map(Math.floor)
  const missing = count - counts.reduce((sum, n) => sum + n, 0)
  const byRemainder = exact.map((x, i) => ({ i, rest: x - Math.floor(x) })).sort((a, b) => b.rest - a.rest)
  for (let k = 0; k < missing; k++) counts[byRemainder[k % shares.length]!.i]!++
  return random.shuffle(shares.flatMap(({ value }, i) => Array<T>(counts[i]!).fill(value)))
}

/** What is fixed of a person beforehand; the rest is drawn. */
export interface PersonPlan {
  track: PositionKey
  fixed?: Partial<PollWorkerRow> & { givenName: string; familyName: string }
}

export interface PeopleWanted {
  countyId: string
  plans: readonly PersonPlan[]
  today: CivilDate
  electionOn: CivilDate
}

const yes = (share: number): readonly Shared<boolean>[] => [
  { value: true, share },
  { value: false, share: 1 - share },
]

export function inventPeople(
  random: Random,
  nextId: (kind: IdKind) => string,
  wanted: PeopleWanted,
  settlements: readonly Settlement[],
  bounds: Bounds,
): PollWorkerRow[] {
  const count = wanted.plans.length
  const ages = quota(
    random,
    count,
    AGE_BANDS.map((band) => ({ value: band, share: band.share })),
  )
  const languages = quota(random, count, LANGUAGES)
  const parties = quota(random, count, PARTIES)
  const shifts = quota(random, count, SHIFTS)
  const hasEmail = quota(random, count, yes(0.85))
  const confidential = quota(random, count, yes(0.015))
  const accommodated = quota(random, count, yes(0.05))
  const choose = chooser(settlements)
  const year = Number(wanted.today.slice(0, 4))
  const prefix = wanted.countyId.slice(0, 2).toUpperCase()
  const width = Math.max(4, String(count).length)
  const earlyDays = EARLY_DAYS.map((days) => addDays(wanted.electionOn, days))

  return wanted.plans.map((plan, i) => {
    const band = ages[i]!
    const age = band.from + random.below(band.to - band.from + 1)
    // Born on a day of the year that we don't know: the age counts at the end of the year.
    const birthYear = year - age
    const invented = inventName(random, birthYear, languages[i]!.includes('es'))
    const givenName = plan.fixed?.givenName ?? invented.given
    const familyName = plan.fixed?.familyName ?? invented.family
    const town = choose(random)
    const inTown = random.next() < 0.7
    const [homeLat, homeLon] = pointNear(random, town.at, inTown ? town.spread : 0.06, bounds)
    const accommodation = accommodated[i] ? random.pick(ACCOMMODATIONS) : null
    const lead = plan.track === 'lead' || plan.track === 'deputy'
    return {
      id: nextId('pollWorker'),
      countyId: wanted.countyId,
      countyRef: `${prefix}-${String(i + 1).padStart(width, '0')}`,
      givenName,
      familyName,
      birthYear,
      email: hasEmail[i]
        ? `${plainLetters(givenName)}.${plainLetters(familyName)}.${wanted.countyId}${i + 1}@example.${i % 3 === 0 ? 'net' : 'org'}`
        : null,
      phone: `555-01${String(random.below(100)).padStart(2, '0')}`,
      party: parties[i]!,
      homeAddress: `${1 + random.below(990)} ${random.pick(STREETS)}, ${town.name}`,
      homeLat,
      homeLon,
      confidentialAddress: confidential[i]!,
      languages: [...languages[i]!],
      accommodations: accommodation?.text ?? null,
      timeMultiplier: accommodation?.timeMultiplier ?? 1,
      // Raised where the history shows service.
      electionsServed: 0,
      wantsPositionKey: plan.track,
      maxTravelKm: random.next() < 0.3 ? 8 + random.below(30) : null,
      unavailableOn: awayOn(random, wanted.electionOn, earlyDays),
      // Leads and deputies work the whole day.
      offersShift: lead ? 'full' : shifts[i]!,
      active: true,
      ...plan.fixed,
    }
  })
}

/** One in twenty-five is away on election day; a third can't come to some day of early voting. */
function awayOn(random: Random, electionOn: CivilDate, earlyDays: readonly CivilDate[]): string[] {
  const days: string[] = random.next() < 0.33 ? earlyDays.filter(() => random.next() < 0.5) : []
  return random.next() < 0.04 ? [...days, electionOn] : days
}
