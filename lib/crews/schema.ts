import { z } from 'zod'
import { CivilDateInput } from '@/lib/kernel/date-schema'

const Key = z.string().min(1).max(200)
const Voters = z.int().min(0).max(10_000_000)
const Seats = z.int().min(0).max(1000)
const BothLanguages = z.strictObject({ en: z.string().min(1), es: z.string().min(1) })

export const PlaceKind = z.enum(['pollingPlace', 'voteCentre', 'earlyVotingSite'])
export type PlaceKind = z.infer<typeof PlaceKind>
export const Phase = z.enum(['electionDay', 'earlyVoting'])
export type Phase = z.infer<typeof Phase>

/** How many seats a rule gives, from the registered voters of its unit (a place or a precinct). */
export const SeatCount = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('fixed'), seats: Seats }),
  /** The first step whose `upTo` is not below the voters; `upTo: null` is the rest. */
  z.strictObject({
    kind: z.literal('steps'),
    steps: z
      .array(z.strictObject({ upTo: Voters.nullable(), seats: Seats }))
      .min(1)
      .refine((steps) => steps.every((s, i) => i === 0 || below(steps[i - 1]!.upTo, s.upTo)), {
        message: 'steps must go up, and only the last may be open',
      }),
  }),
  /** One seat for each started `voters`, within `least` and `most`. */
  z.strictObject({
    kind: z.literal('each'),
    voters: z.int().min(1).max(10_000_000),
    least: Seats.default(0),
    most: Seats.nullable().default(null),
  }),
])
export type SeatCount = z.infer<typeof SeatCount>
const below = (a: number | null, b: number | null) => a !== null && (b === null || a < b)

/** When a rule applies. Absent: whatever it is. */
export const RuleCondition = z.strictObject({
  placeKinds: z.array(PlaceKind).min(1).optional(),
  phases: z.array(Phase).min(1).optional(),
  /** The county's own words, such as general, primary, special. */
  electionKinds: z.array(Key).min(1).optional(),
  /** The place must have all of these features, and none of the others. */
  features: z.array(Key).min(1).optional(),
  withoutFeatures: z.array(Key).min(1).optional(),
  /** Registered voters of the unit: `over` is exclusive, `upTo` inclusive. */
  over: Voters.optional(),
  upTo: Voters.optional(),
})
export type RuleCondition = z.infer<typeof RuleCondition>

export const SeatRule = z.strictObject({
  position: Key,
  /** One crew for the place, however many precincts share it; or one for each precinct. */
  per: z.enum(['place', 'precinct']),
  when: RuleCondition.default({}),
  count: SeatCount,
  /** One set of seats in each shift. */
  shifts: z.array(Key).min(1).default(['full']),
  /** Part of the crew that the law asks for at least. */
  legalMinimum: z.boolean().default(false),
  citation: z.string().min(1).max(1000).optional(),
})
export type SeatRule = z.infer<typeof SeatRule>

export const RuleTable = z.strictObject({
  key: Key,
  citation: z.string().min(1).max(1000),
  rules: z.array(SeatRule).min(1).max(500),
  /** Where a unit's crew would be even in number, one more seat of this position is added. */
  oddTotal: z.strictObject({ per: z.enum(['place', 'precinct']), position: Key }).optional(),
  /** At most this many of one crew may be of one party: half rounded down, or half rounded up (one more than the
   *  other party in an odd crew). Absent: the table says nothing about party. */
  sameParty: z.enum(['atMostHalf', 'atMostHalfRoundedUp']).optional(),
})
export type RuleTable = z.infer<typeof RuleTable>

export const CrewPlace = z.strictObject({
  id: Key,
  kind: PlaceKind,
  precincts: z.array(z.strictObject({ id: Key, registeredVoters: Voters })).max(10_000),
  /** The days on which it is open. */
  openOn: z
    .array(z.strictObject({ on: CivilDateInput, phase: Phase }))
    .min(1)
    .max(100),
  electionKind: Key.default('general'),
  features: z.array(Key).default([]),
})
export type CrewPlace = z.infer<typeof CrewPlace>

/** How voters come and how long they take: for the waiting-time estimate only. */
export const DemandProfile = z.strictObject({
  /** Share of the registered who vote in person at the place, 0 to 1. */
  turnoutFraction: z.number().min(0).max(1),
  /** Share of the day's voters who already stand there when the doors open. */
  waitingAtOpeningFraction: z.number().min(0).max(1),
  /** Share of the day's other voters in each hour; sums to 1. */
  shareByHour: z
    .array(z.number().min(0).max(1))
    .min(1)
    .max(24)
    .refine((shares) => Math.abs(shares.reduce((a, b) => a + b, 0) - 1) < 1e-6, { message: 'must sum to 1' }),
  opensAtHour: z.int().min(0).max(23),
  checkInMinutes: z.number().positive().max(600),
  votingMinutes: z.number().positive().max(600),
  source: z.string().min(1),
})
export type DemandProfile = z.infer<typeof DemandProfile>

/** A rule table as shipped in content/crew-rules: a template that a county must check before it adopts it. */
export const CrewTemplate = z.strictObject({
  key: Key,
  template: z.literal(true),
  names: BothLanguages,
  notice: BothLanguages,
  ruleTable: RuleTable,
  demand: DemandProfile,
})
export type CrewTemplate = z.infer<typeof CrewTemplate>
