/** The documented instance and result formats of the roster optimiser (JSON, the same for the application, the
 *  command line and the tests).
 *
 *  Three levels in strict order, each never traded for a lower one:
 *   1. seats filled, by priority class (tier, then rank within the tier): a vector, compared from its first entry;
 *   2. weighted rule violations (a whole number);
 *   3. cost in metres: travel one way, plus the stated penalties (a whole number).
 */
import { z } from 'zod'
import { CivilDateInput } from '@/lib/kernel/date-schema'

const Id = z.string().min(1).max(200)
const Weight = z.int().min(0).max(1000)
const Metres = z.int().min(0).max(1_000_000)
const At = z.tuple([z.number().min(-90).max(90), z.number().min(-180).max(180)])

/** `full`: the whole day. `either`: one half, whichever is needed. */
export const HalfOrFull = z.enum(['full', 'morning', 'afternoon'])
export type HalfOrFull = z.infer<typeof HalfOrFull>

const Span = z.strictObject({ from: CivilDateInput, until: CivilDateInput.nullable() })

export const RosterPerson = z.strictObject({
  id: Id,
  /** Home, [latitude, longitude] in degrees; null: unknown, travel counts 0 and no travel limit excludes. */
  at: At.nullable().default(null),
  /** As the county records it; null: none, counts for no party. */
  party: z.string().min(1).nullable().default(null),
  /** Spans of each certificate held: half-open civil dates. Eligible when one covers the seat's date. */
  certificates: z.array(z.strictObject({ key: Id, spans: z.array(Span) })).default([]),
  /** Null: the full day on every date. Otherwise only the dates named. A `full` person may also take a half-day
   *  seat, but half of a full-day seat only where a lock takes the other half; two half-day people together fill one
   *  full-day seat. */
  available: z
    .array(
      z.strictObject({ date: CivilDateInput, shift: z.enum(['full', 'morning', 'afternoon', 'either']) }),
    )
    .nullable()
    .default(null),
  languages: z.array(Id).default([]),
  skills: z.array(Id).default([]),
  /** Elections served before. */
  experience: z.int().min(0).default(0),
  /** Candidate, candidate's relative, barred: never seated. */
  excluded: z.boolean().default(false),
  /** Places where this person must not serve (conflict, refused). */
  excludedPlaces: z.array(Id).default([]),
  /** Where the person lives, compared with a place's `residences`. */
  residence: z.string().nullable().default(null),
  /** The person's own limit, one way. */
  maxTravelKm: z.number().min(0).nullable().default(null),
  /** The place of last time's service: `costs.notReturning` is added elsewhere. */
  lastPlaceId: Id.nullable().default(null),
  /** Places asked for: `costs.notPreferred` is added elsewhere. Empty: no wish. */
  preferredPlaces: z.array(Id).default([]),
})
export type RosterPerson = z.infer<typeof RosterPerson>

export const RosterPlace = z.strictObject({
  id: Id,
  at: At.nullable().default(null),
  /** Residences from which people may serve here; null: anyone. */
  residences: z.array(z.string()).nullable().default(null),
})
export type RosterPlace = z.infer<typeof RosterPlace>

export const SeatTier = z.enum(['lead', 'minimum', 'rest'])
export type SeatTier = z.infer<typeof SeatTier>

export const RosterSeat = z.strictObject({
  id: Id,
  placeId: Id,
  /** Two precincts in one place have a crew each. Null: the place is one crew. */
  precinctId: Id.nullable().default(null),
  /** The position's key, e.g. `lead`, `deputy`, `check-in`. */
  position: Id,
  /** Strict priority: every `lead` seat before any `minimum` seat (the legal crew) before any `rest` seat. */
  tier: SeatTier.default('rest'),
  /** Priority within the tier; 1 is filled first. */
  rank: z.int().min(1).max(99).default(1),
  date: CivilDateInput,
  shift: HalfOrFull.default('full'),
  /** Certificate needed on the date; null: none. */
  certificate: Id.nullable().default(null),
  /** Asked of whoever sits here (hard). */
  languages: z.array(Id).default([]),
  skills: z.array(Id).default([]),
  minExperience: z.int().min(0).default(0),
  /** For the rule that lead and deputy come from different parties. */
  duty: z.enum(['lead', 'deputy']).nullable().default(null),
})
export type RosterSeat = z.infer<typeof RosterSeat>

export const RosterRules = z.strictObject({
  /** In each crew and half of the day | members of party A − members of party B | is at most `maxDifference`.
   *  The excess counts `weight` each (the worse half of the day counts); `hard`: it must be 0, if need be by
   *  leaving seats empty. */
  balance: z
    .strictObject({
      parties: z.tuple([z.string(), z.string()]),
      maxDifference: z.int().min(0).max(50).default(1),
      mode: z.enum(['soft', 'hard']).default('soft'),
      weight: Weight.default(1),
    })
    .nullable()
    .default(null),
  /** A crew with a lead and a deputy, all of whose leads and deputies are of one and the same balance party,
   *  counts this once. 0: no such rule. Needs `balance` for its parties (its weight may be 0). */
  leadDeputySameParty: Weight.default(0),
  /** Each crew needs `count` members with the language or skill, or with at least `value` elections served (value
   *  as a number in text). A missing one counts `weight`; a crew with nobody in it counts in full. */
  minimums: z
    .array(
      z.strictObject({
        kind: z.enum(['language', 'skill', 'experience']),
        value: Id,
        count: z.int().min(1).max(50).default(1),
        /** Null: every place / every precinct of the place. */
        placeId: Id.nullable().default(null),
        precinctId: Id.nullable().default(null),
        weight: Weight.default(1),
      }),
    )
    .default([]),
  /** Both at one place on one date counts `weight`. */
  keepApart: z.array(z.strictObject({ people: z.tuple([Id, Id]), weight: Weight.default(1) })).default([]),
  /** Both seated on one date, at different places, counts `weight`. */
  keepTogether: z.array(z.strictObject({ people: z.tuple([Id, Id]), weight: Weight.default(1) })).default([]),
  /** Nobody travels further, one way. */
  maxTravelKm: z.number().min(0).nullable().default(null),
})
export type RosterRules = z.infer<typeof RosterRules>

export const RosterCosts = z.strictObject({
  /** Metres of cost for each metre of straight-line travel, one way. */
  perTravelMetre: z.int().min(0).max(100).default(1),
  /** Metres added when a person with a last place sits elsewhere. */
  notReturning: Metres.default(0),
  /** Metres added for each seated person who isn't at that place, position, date and shift in `current`. */
  change: Metres.default(0),
  /** Metres added when a person with wishes sits elsewhere. */
  notPreferred: Metres.default(0),
})
export type RosterCosts = z.infer<typeof RosterCosts>

/** Who sits where. `half` is `full` except where two people share a full-day seat; a half-day seat's is its shift. */
export const Seating = z.strictObject({ seatId: Id, personId: Id, half: HalfOrFull.default('full') })
export type Seating = z.infer<typeof Seating>

export const RosterInstance = z.strictObject({
  people: z.array(RosterPerson).max(200_000),
  places: z.array(RosterPlace).max(20_000),
  seats: z.array(RosterSeat).max(200_000),
  rules: RosterRules.default(() => RosterRules.parse({})),
  costs: RosterCosts.default(() => RosterCosts.parse({})),
  /** Kept as they are, also where the person isn't (any more) eligible; a note says so. One half of a full-day seat may
   *  be locked alone: the other half is then to be filled. */
  locks: z.array(Seating).default([]),
  /** The roster so far, for `costs.change` and repairs. */
  current: z.array(Seating).default([]),
})
export type RosterInstance = z.output<typeof RosterInstance>
export type RosterInstanceInput = z.input<typeof RosterInstance>

/** How a level's bound was reached. `duals`: the checker recomputes it from `proof`. `search`: an exhaustive
 *  search closed it and the checker can't repeat that cheaply. `open`: value and bound differ. */
export const ClosedBy = z.enum(['duals', 'search', 'open', 'not-claimed'])

const PriceVector = z.record(z.string(), z.number())

/** Prices from which a level's lower bound is recomputed (Lagrangian bound; see core/bound.ts). */
export const BoundPrices = z.strictObject({
  /** Scale: prices and the bound are in 1/scale of the level's unit. */
  scale: z.int().min(1),
  /** `personId|date` → price ≥ 0 for the use of that person on that date. Absent: 0. */
  people: PriceVector,
  /** Price of one filled seat for each priority class, in order of `classes`. */
  classes: z.array(z.number()),
  /** Price ≥ 0 of one violation (level 3 only). */
  violation: z.number(),
  /** `minimum index|crew key` → price, 0 to the violation's price times weight. Absent: 0. */
  minimums: PriceVector,
})
export type BoundPrices = z.infer<typeof BoundPrices>

export const LevelReport = z.strictObject({
  level: z.int().min(1).max(3),
  name: z.enum(['seats', 'violations', 'cost']),
  /** Level 1: filled seats of each class (to be maximised, first entry first). Levels 2, 3: one number. */
  value: z.array(z.int()),
  /** Level 1: no roster fills more in the classes up to each. Levels 2, 3: proven least; null: none claimed. */
  bound: z.array(z.int()).nullable(),
  /** Level 1: seats; level 2: weighted violations; level 3: share of the value (0 to 1). Null: no bound claimed. */
  gap: z.number().min(0).nullable(),
  closedBy: ClosedBy,
  /** What the bound rests on, in words. */
  basis: z.string(),
})
export type LevelReport = z.infer<typeof LevelReport>

export const RosterProof = z.strictObject({
  /** For each prefix of the classes a cover: every eligible pair touches one of its people (`personId|date`) or
   *  seats, and it has as many as seats filled: so no more can be filled (König 1931). */
  covers: z.array(z.strictObject({ people: z.array(z.string()), seats: z.array(Id), half: HalfOrFull })),
  /** One for each prefix of the classes; null where the cover is enough. */
  level1: z.array(BoundPrices.nullable()),
  level2: BoundPrices.nullable(),
  level3: BoundPrices.nullable(),
})
export type RosterProof = z.infer<typeof RosterProof>

export const RosterResult = z.strictObject({
  format: z.literal('roster-result/1'),
  /** `optimal`: every level closed. `within-gap`: work limit reached or the method is at its end; gaps stated.
   *  `interrupted`: cancelled; the best so far. */
  status: z.enum(['optimal', 'within-gap', 'interrupted']),
  seatings: z.array(Seating),
  /** Seats not filled: nobody sits there, or only the person of a locked half. */
  empty: z.array(Id),
  /** Priority classes in order: `tier/rank` and their number of seats. */
  classes: z.array(z.strictObject({ key: z.string(), seats: z.int() })),
  levels: z.array(LevelReport),
  proof: RosterProof,
  notes: z.array(z.string()),
  seed: z.int(),
  /** Work units spent (dual steps and search moves), the same on every machine. */
  work: z.int(),
  /** Wall time; filled in by whoever holds a clock, never by the core. */
  seconds: z.number().nullable(),
})
export type RosterResult = z.infer<typeof RosterResult>
