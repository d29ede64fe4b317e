import { z } from 'zod'

/** What a finished run found, as kept in `RosterRun.outcome`. Ids and keys only; names are read when it is shown. */

export const EmptySeatReason = z.object({
  seatId: z.string(),
  /** One plain sentence. */
  reason: z.string(),
  /** The same without what differs from seat to seat, where that is more than nothing: for several seats at once. */
  shared: z.string().optional(),
})
export type EmptySeatReason = z.infer<typeof EmptySeatReason>

export const TrainingStep = z.object({
  personId: z.string(),
  certificateKey: z.string(),
  /** Where the person would sit. */
  takesSeatId: z.string(),
  /** The seats that stay empty without this training (others may move up for it). */
  seatIds: z.array(z.string()),
  /** Of one without which as many seats are filled: how many more breaches of rules there are then, by weight. */
  mends: z.number().default(0),
  /** What is left to do, in the rule's own words. */
  missing: z.array(z.object({ en: z.string(), es: z.string() })),
})
export type TrainingStep = z.infer<typeof TrainingStep>

export const LevelWords = z.object({
  title: z.string(),
  sentence: z.string(),
  /** Proven best; else the sentence says what is not known. */
  proven: z.boolean(),
})
export type LevelWords = z.infer<typeof LevelWords>

export const RunOutcome = z.object({
  rosterId: z.string(),
  revision: z.number(),
  status: z.string(),
  seats: z.number(),
  filled: z.number(),
  locked: z.number(),
  /** By position, in order of rank. */
  byPosition: z.array(z.object({ key: z.string(), seats: z.number(), filled: z.number() })),
  travelKm: z.number(),
  /** Are both goals proven? In words, from the solver's own report. */
  proof: z.array(z.string()),
  /** The same level by level, in plain words (absent in runs from before November 2026). */
  levels: z.array(LevelWords).default([]),
  empty: z.array(EmptySeatReason),
  training: z.array(TrainingStep),
  /** Seats filled when the instance with that training was solved again. */
  filledWithTraining: z.number(),
  /** Breaches of rules by weight, now and in the roster with that training; null: not known. */
  violations: z.object({ before: z.number(), after: z.number() }).nullable().default(null),
  notes: z.array(z.string()),
  /** Crews left with more of one party than the county's crew rules allow: a run goes by the balance alone. */
  overParty: z.number().default(0),
  seconds: z.object({ load: z.number(), solve: z.number(), plan: z.number(), write: z.number() }),
})
export type RunOutcome = z.infer<typeof RunOutcome>
