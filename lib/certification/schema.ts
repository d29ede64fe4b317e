import { z } from 'zod'
import { CivilDateInput } from '@/lib/kernel/date-schema'

/** What certification needs to know of the world: dated facts, rules, elections. A fact says what happened to one
 *  person on a civil date of the county; it never says 'certified'. That is computed. */

export const FACT_KINDS = [
  'lessonFinished',
  'quizPassed',
  'checkOff',
  /** The task was tried and is to be shown again: on record, counts for nothing. */
  'checkOffToRepeat',
  'classAttended',
  'oathSworn',
  'served',
  /** Trained for a certificate (the topic) before the county kept its records here: somebody says so, with a date. */
  'earlierTraining',
  'revocation',
  /** Staff took a certificate (the topic) away: what was done by that day no longer counts for it. */
  'certificateRevoked',
] as const
export const FactKind = z.enum(FACT_KINDS)
export type FactKind = z.infer<typeof FactKind>

const Key = z.string().min(1).max(200)
const Months = z.int().min(1).max(1200)
/** Shares of a whole: 0 to 1. */
const Fraction = z.number().min(0).max(1)

export const Fact = z
  .strictObject({
    id: Key,
    kind: FactKind,
    /** Lesson, quiz, hand task, class or position key; for a revocation its reason. */
    topic: z.string().max(200),
    on: CivilDateInput,
    scoreFraction: Fraction.nullish(),
    equipmentProfile: Key.nullish(),
    electionId: Key.nullish(),
    /** Only on a `revocation`: the fact that no longer counts from this one's date. */
    revokes: Key.nullish(),
  })
  .refine((fact) => (fact.kind === 'revocation') === (fact.revokes != null), {
    path: ['revokes'],
    message: 'a revocation names the fact that it revokes, and no other fact does',
  })
export type Fact = z.infer<typeof Fact>

export const ElectionDate = z.strictObject({ id: Key, heldOn: CivilDateInput })
export type ElectionDate = z.infer<typeof ElectionDate>

/** How long a piece of evidence counts, from its own date on. All ends are exclusive (the first day without it). */
export const Window = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('always') }),
  /** Until the same day of the month, n months later; where that month is shorter, its last day. */
  z.strictObject({ kind: z.literal('months'), months: Months }),
  /** Until a date that is the same for everybody. */
  z.strictObject({ kind: z.literal('fixedDate'), until: CivilDateInput }),
  /** Until the end of the cycle after the one that the evidence falls in. Cycles of `cycleMonths` are counted
   *  from `cycleStartsOn` both ways. */
  z.strictObject({
    kind: z.literal('untilEndOfNextCycle'),
    cycleStartsOn: CivilDateInput,
    cycleMonths: Months,
  }),
  /** Until `plusMonths` after the end of the cycle that the evidence falls in. */
  z.strictObject({
    kind: z.literal('afterCycle'),
    cycleStartsOn: CivilDateInput,
    cycleMonths: Months,
    plusMonths: z.int().min(0).max(1200),
  }),
  /** Counts for elections held 0 to n days after it (both included), through that election day. */
  z.strictObject({ kind: z.literal('daysBeforeElection'), days: z.int().min(0).max(3660) }),
  /** Counts for elections whose day, n months back, is not after it; through that election day. */
  z.strictObject({ kind: z.literal('monthsBeforeElection'), months: Months }),
  /** Counts for the election that the fact itself names, through its day. */
  z.strictObject({ kind: z.literal('sameElection') }),
])
export type Window = z.infer<typeof Window>

/** Text that a poll worker sees, in both languages. */
export const BothLanguages = z.strictObject({ en: z.string().min(1), es: z.string().min(1) })
export type BothLanguages = z.infer<typeof BothLanguages>

export const EvidenceRule = z.strictObject({
  kind: z.literal('evidence'),
  fact: FactKind.exclude(['revocation', 'certificateRevoked', 'checkOffToRepeat']),
  topic: Key,
  window: Window,
  minScoreFraction: Fraction.optional(),
  /** `inUse`: done on a profile that the county still uses. `profile`: on this one, while it is in use.
   *  Absent: on anything. */
  equipment: z
    .discriminatedUnion('kind', [
      z.strictObject({ kind: z.literal('inUse') }),
      z.strictObject({ kind: z.literal('profile'), profile: Key }),
    ])
    .optional(),
  label: BothLanguages.optional(),
})
export type EvidenceRule = z.infer<typeof EvidenceRule>

export type Requirement =
  | EvidenceRule
  | { kind: 'all'; of: Requirement[] }
  | { kind: 'any'; of: Requirement[] }
  | { kind: 'atLeast'; count: number; of: Requirement[] }

const Parts = z.lazy(() => z.array(Requirement).min(1).max(50))
export const Requirement: z.ZodType<Requirement> = z.lazy(() =>
  z.discriminatedUnion('kind', [
    EvidenceRule,
    z.strictObject({ kind: z.literal('all'), of: Parts }),
    z.strictObject({ kind: z.literal('any'), of: Parts }),
    z
      .strictObject({ kind: z.literal('atLeast'), count: z.int().min(1), of: Parts })
      .refine((r) => r.count <= r.of.length, {
        path: ['count'],
        message: 'asks for more parts than there are',
      }),
  ]),
)

/** One published version. It judges every date from `effectiveFrom` until the next version's (or its own
 *  `effectiveUntil`, if that is earlier), whenever the evidence dates from. */
export const RuleSet = z
  .strictObject({
    certificateKey: Key,
    version: z.int().min(1),
    effectiveFrom: CivilDateInput,
    effectiveUntil: CivilDateInput.nullish(),
    requirement: Requirement,
    /** The county's own legal citation, or a sentence that says there is none yet. */
    citation: z.string().min(1).max(1000),
  })
  .refine((r) => r.effectiveUntil == null || r.effectiveFrom < r.effectiveUntil, {
    path: ['effectiveUntil'],
    message: 'must be later than effectiveFrom',
  })
export type RuleSet = z.infer<typeof RuleSet>

/** From a date on, work witnessed earlier on `replaces` no longer counts where a rule asks for equipment in use.
 *  `replaces` absent: every profile but the new one. Replacing a profile by itself is a new version of it. */
export const EquipmentChange = z.strictObject({
  from: CivilDateInput,
  profile: Key,
  replaces: Key.nullish(),
  /** Only these topics; absent: all. */
  topics: z.array(Key).min(1).nullish(),
})
export type EquipmentChange = z.infer<typeof EquipmentChange>

/** Everything that decides one certificate: its rule versions and the county's equipment changes. */
export const Policy = z
  .strictObject({
    certificateKey: Key,
    ruleSets: z.array(RuleSet).min(1),
    equipmentChanges: z.array(EquipmentChange).default([]),
  })
  .refine((p) => p.ruleSets.every((r) => r.certificateKey === p.certificateKey), {
    path: ['ruleSets'],
    message: 'every rule set belongs to the certificate of its policy',
  })
  .refine((p) => new Set(p.ruleSets.map((r) => r.version)).size === p.ruleSets.length, {
    path: ['ruleSets'],
    message: 'two rule sets have the same version',
  })
export type Policy = z.infer<typeof Policy>

/** A policy as shipped in content/policies: a template that a county must check before it adopts it. */
export const PolicyTemplate = z.strictObject({
  key: Key,
  template: z.literal(true),
  /** Of the position that a county makes with it: 1 is filled first. */
  rank: z.int().min(1).max(100),
  names: BothLanguages,
  notice: BothLanguages,
  policy: Policy,
})
export type PolicyTemplate = z.infer<typeof PolicyTemplate>
