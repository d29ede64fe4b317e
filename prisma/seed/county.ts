import type { Policy } from '@/lib/certification/schema'
import {
  addDays,
  addMonths,
  type CivilDate,
  earlierOf,
  electionDay,
  nextFederalElection,
} from '@/lib/kernel/dates'
import { seededRandom, seedOf } from '@/lib/kernel/random'
import type { LatLon } from '@/lib/places/core/distance'
import type { CountyRosterRules } from '@/lib/roster/county-rules'
import { makeAccounts } from './accounts'
import { type SeedQuiz, tellAttempts } from './attempts'
import type { Calendar } from './calendar'
import type { DemoCard, StaffSignIn } from './demo'
import { tellFacts } from './facts'
import { boundsOf, settle } from './geography'
import { idsOf } from './ids'
import { inventPeople } from './people'
import { inventPlaces, inventPrecincts } from './places'
import { planPeople } from './plan'
import type { CountyRows, ElectionRow, OpeningRow, PollingPlaceRow, PositionRow, SeatRow } from './rows'
import { inventSeats, POSITIONS, type PositionKey } from './seats'
import { spanRows } from './spans'

export interface CountyWanted {
  /** The county's id: lower-case letters, digits and hyphens. */
  key: string
  name: string
  stateId: string
  timeZone: string
  seed: string
  today: CivilDate
  /** Polling places, not counting early-voting sites. */
  places: number
  people: number
  precincts: number
  earlyVotingSites: number
  /** South-west corner of the county. */
  origin: LatLon
  /** The certificates' rules, one policy a position. */
  policies: readonly Policy[]
  equipmentProfiles: readonly string[]
  staff?: readonly StaffSignIn[]
  cards?: readonly DemoCard[]
  /** The quiz that people sat; without it their passes stand alone. */
  quiz?: SeedQuiz
  /** What the county has noted of its office and its hours; without it, nothing. */
  office?: OfficeWanted
  /** What it wishes of its rosters; without it, nothing. */
  rosterRules?: Partial<CountyRosterRules>
  /** `lean`: smaller crews, for a county with too few people for full ones. */
  crew?: 'full' | 'lean'
}

export interface OfficeWanted {
  phone: string
  /** When somebody answers there. */
  hours: string
  /** Wall-clock hours for voters on election day and at early-voting sites. */
  opens: [from: string, until: string]
  opensEarly: [from: string, until: string]
}

/** An invented county, from the seed and the date alone: the same arguments give the same rows, ids included; nothing
 *  in it is dated on or after `today` but the election and its seats. About three of four seats can be filled by
 *  people certified for them, unless `today` lies within days after an election, when no evidence could last until
 *  the next one. O(people × facts of a person). @throws RangeError for numbers that don't fit together. */
export function generateCounty(wanted: CountyWanted): CountyRows {
  for (const name of ['places', 'people', 'precincts'] as const)
    if (!Number.isInteger(wanted[name]) || wanted[name] < 1)
      throw new RangeError(`${name} must be a whole number from 1, not ${wanted[name]}`)
  if (!/^[a-z][a-z0-9-]*$/.test(wanted.key))
    throw new RangeError(`a county's key has lower-case letters, digits and hyphens, not "${wanted.key}"`)
  const countyId = wanted.key
  const origin = `${wanted.seed}/${countyId}`
  const nextId = idsOf(origin)
  // A source of its own for each part: a change to one part leaves the others as they were.
  const random = (part: string) => seededRandom(seedOf(`${origin}/${part}`))

  const bounds = boundsOf(wanted.places, wanted.origin)
  const settlements = settle(random('settlements'), wanted.places, bounds)
  const placesWanted = {
    countyId,
    pollingPlaces: wanted.places,
    earlyVotingSites: wanted.earlyVotingSites,
    precincts: wanted.precincts,
    equipmentProfiles: wanted.equipmentProfiles,
  }
  const pollingPlaces = inventPlaces(random('places'), nextId, placesWanted, settlements, bounds)
  const precincts = inventPrecincts(random('precincts'), nextId, placesWanted, pollingPlaces, bounds)

  const positions: PositionRow[] = POSITIONS.map(({ key, rank, en, es }) => ({
    id: nextId('position'),
    countyId,
    key,
    nameEn: en,
    nameEs: es,
    rank,
    certificateKey: key,
  }))
  const elections = makeElections(countyId, wanted.today, () => nextId('election'))
  const calendar: Calendar = {
    today: wanted.today,
    previousElectionOn: elections[0].heldOn as CivilDate,
    electionOn: elections[1].heldOn as CivilDate,
  }
  const lean = wanted.crew === 'lean'
  const seats = inventSeats(nextId, elections[1], pollingPlaces, precincts, positions, lean)

  const cards = wanted.cards ?? []
  const plans = planPeople(
    random('plans'),
    wanted.people,
    countSeats(seats, positions),
    cards.map(({ plan }) => plan),
  )
  const pollWorkers = inventPeople(
    random('people'),
    nextId,
    { countyId, plans, today: wanted.today, electionOn: calendar.electionOn },
    settlements,
    bounds,
  )
  const { accounts, grants, cardRows, recorderId } = makeAccounts(nextId, {
    countyId,
    pollWorkers,
    staff: wanted.staff ?? [],
    cards,
    cardsExpireOn: addDays(calendar.electionOn, 30),
  })

  const policies = wanted.policies.map((policy) => reaching(policy, addMonths(wanted.today, -48)))
  const facts = tellFacts(random('facts'), nextId, {
    countyId,
    pollWorkers,
    plans,
    policies,
    equipmentProfiles: wanted.equipmentProfiles,
    calendar,
    previousElectionId: elections[0].id,
    recorderId,
  })

  const sat = wanted.quiz
    ? tellAttempts(random('attempts'), () => nextId('attempt'), {
        quiz: wanted.quiz,
        facts,
        pollWorkers,
        plans,
        policies,
        equipmentProfile: wanted.equipmentProfiles[0] ?? 'profile-a',
      })
    : { definitions: [], attempts: [], attemptEvents: [] }
  const held = elections.map(({ id, heldOn }) => ({ id, heldOn: heldOn as CivilDate }))

  return {
    county: {
      id: countyId,
      stateId: wanted.stateId,
      name: wanted.name,
      timeZone: wanted.timeZone,
      equipmentProfile: wanted.equipmentProfiles[0] ?? 'profile-a',
      settings: {
        ...(wanted.office && {
          offers: { officePhone: wanted.office.phone, officeHours: wanted.office.hours },
        }),
        ...(wanted.rosterRules && { rosterRules: wanted.rosterRules }),
      },
    },
    pollWorkers,
    pollingPlaces,
    openings: wanted.office ? makeOpenings(() => nextId('opening'), wanted.office, pollingPlaces, seats) : [],
    precincts,
    positions,
    elections,
    seats,
    facts,
    ruleSets: policies.flatMap((policy) =>
      policy.ruleSets.map((ruleSet) => ({
        id: nextId('ruleSet'),
        countyId,
        certificateKey: policy.certificateKey,
        version: ruleSet.version,
        effectiveFrom: ruleSet.effectiveFrom,
        requirement: ruleSet.requirement,
        citation: ruleSet.citation,
        publishedAt: new Date(`${ruleSet.effectiveFrom}T12:00:00Z`),
      })),
    ),
    spans: spanRows(countyId, facts, policies, held),
    accounts,
    grants,
    cards: cardRows,
    ...sat,
  }
}

/** The template's first version counts from the start of the history at the latest, whatever date is seeded. */
function reaching(policy: Policy, historyFrom: CivilDate): Policy {
  const first = policy.ruleSets.reduce((a, b) => (b.version < a.version ? b : a))
  return {
    ...policy,
    ruleSets: policy.ruleSets.map((ruleSet) =>
      ruleSet === first
        ? { ...ruleSet, effectiveFrom: earlierOf(ruleSet.effectiveFrom, historyFrom) }
        : ruleSet,
    ),
  }
}

function makeElections(
  countyId: string,
  today: CivilDate,
  nextId: () => string,
): [previous: ElectionRow, next: ElectionRow] {
  const next = nextFederalElection(today)
  const year = Number(next.slice(0, 4))
  const election = (heldOn: CivilDate): ElectionRow => ({
    id: nextId(),
    countyId,
    name: `General Election ${heldOn.slice(0, 4)}`,
    kind: 'general',
    heldOn,
  })
  return [election(electionDay(year - 2)), election(next)]
}

/** Polling places open on the election's own day, early-voting sites from the first to the last day of their seats. */
function makeOpenings(
  nextId: () => string,
  office: OfficeWanted,
  places: readonly PollingPlaceRow[],
  seats: readonly SeatRow[],
): OpeningRow[] {
  return places.map((place) => {
    const early = place.kind === 'earlyVotingSite'
    const days = seats.flatMap((s) => (s.pollingPlaceId === place.id ? [s.servesOn] : [])).sort()
    const [opensAt, closesAt] = early ? office.opensEarly : office.opens
    return {
      id: nextId(),
      countyId: place.countyId,
      pollingPlaceId: place.id,
      firstOn: early ? (days[0] ?? null) : null,
      lastOn: early ? (days.at(-1) ?? null) : null,
      opensAt,
      closesAt,
    }
  })
}

/** Seats by position, a half day as half a seat. */
function countSeats(seats: readonly SeatRow[], positions: readonly PositionRow[]): Map<PositionKey, number> {
  const keyOf = new Map(positions.map(({ id, key }) => [id, key as PositionKey]))
  const counts = new Map<PositionKey, number>()
  const electionOn = seats.reduce((latest, { servesOn }) => (servesOn > latest ? servesOn : latest), '')
  for (const { positionId, shift, servesOn } of seats) {
    // One person can serve on several days of early voting, and on election day too.
    if (servesOn !== electionOn) continue
    const key = keyOf.get(positionId)!
    counts.set(key, (counts.get(key) ?? 0) + (shift === 'full' ? 1 : 0.5))
  }
  return counts
}
