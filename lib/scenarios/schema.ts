/** The shape of a lesson: a scenario is data (structure) plus texts kept apart, one table per language.
 *  How to write one: content/scenarios/AUTHORING.md. What it means: lib/scenarios/core/transition.ts. */
import { z } from 'zod'
import { COMPETENCIES } from './core/words'
import { StationSetup } from './station-schema'
import { Id } from './text-schema'

export { COMPETENCIES, LOCALES } from './core/words'
export { CardWay, EquipmentProfile } from './equipment-schema'
export type { SetupOf, StationKind } from './station-schema'
export { StationSetup } from './station-schema'
export { Id, Locale, Translations } from './text-schema'

export const Competency = z.enum(COMPETENCIES)
export type Competency = z.infer<typeof Competency>

export const Judgement = z.enum(['sound', 'workable', 'mistake', 'critical'])
export type Judgement = z.infer<typeof Judgement>

/** A test of facts: the lesson's flags (`flag.<name>`), acts done (`act.<id>`) and what the station shows. */
export type Condition =
  | { fact: string; is: string | number | boolean }
  | { fact: string; atLeast: number }
  | { fact: string; atMost: number }
  | { all: Condition[] }
  | { any: Condition[] }
  | { not: Condition }
export const Condition: z.ZodType<Condition> = z.lazy(() =>
  z.union([
    z.strictObject({ fact: z.string(), is: z.union([z.string(), z.number(), z.boolean()]) }),
    z.strictObject({ fact: z.string(), atLeast: z.number() }),
    z.strictObject({ fact: z.string(), atMost: z.number() }),
    z.strictObject({ all: z.array(Condition).min(1) }),
    z.strictObject({ any: z.array(Condition).min(1) }),
    z.strictObject({ not: Condition }),
  ]),
)

/** Where the story goes: a step, or the first branch whose condition on flags holds. */
export const Next = z.union([
  Id,
  z.strictObject({
    branches: z.array(z.strictObject({ when: Condition, to: Id })).min(1),
    otherwise: Id,
  }),
])
export type Next = z.infer<typeof Next>

/** Flag → value. Flags and their possible values are declared by the scenario, so the state space is finite. */
export const Effects = z.record(Id, Id)

const judged = {
  judgement: Judgement,
  /** Key into the scenario's `sources`, or `common-practice` / `county-procedure`. */
  source: Id.optional(),
  /** Overrides the step's competency. */
  competency: Competency.optional(),
  effects: Effects.optional(),
}

export const Option = z.strictObject({ id: Id, ...judged, judgement: Judgement.optional(), next: Next })
export type Option = z.infer<typeof Option>

export const DecideStep = z.strictObject({
  kind: z.literal('decide'),
  id: Id,
  competency: Competency,
  /** Whose words or which place the picture shows; drawn beside the text, never needed to answer. */
  scene: Id.optional(),
  options: z.array(Option).min(1).max(5),
})
export type DecideStep = z.infer<typeof DecideStep>

/** Something done at a station that is judged when it happens. */
export const WatchedAction = z.strictObject({
  id: Id,
  /** Station event types (`insert`) or `act`. */
  on: z.union([Id, z.array(Id).min(1)]).transform((on) => (typeof on === 'string' ? [on] : on)),
  /** Fields that the event must have, e.g. `{ "act": "look-at-card" }`. */
  with: z.record(z.string(), z.union([z.string(), z.number(), z.boolean()])).optional(),
  /** Facts before / after the event. */
  was: Condition.optional(),
  is: Condition.optional(),
  ...judged,
  /** Leaves the step at once: the branch that plays out. */
  next: Next.optional(),
})
export type WatchedAction = z.infer<typeof WatchedAction>

export const Outcome = z.strictObject({ id: Id, when: Condition, ...judged, next: Next })
export type Outcome = z.infer<typeof Outcome>

export const OperateStep = z.strictObject({
  kind: z.literal('operate'),
  id: Id,
  competency: Competency,
  /** Name in the scenario's `stations`. Its state is kept from one operate step to the next. */
  station: Id,
  /** Sets the station up afresh. */
  restart: z.boolean().default(false),
  /** Station event types that can be used here; all when absent. */
  controls: z.array(Id).min(1).optional(),
  /** Things that a person does beside the machine: ask, step back, look away, call. Buttons under the station. */
  acts: z
    .array(z.strictObject({ id: Id, effects: Effects.optional() }))
    .max(6)
    .default([]),
  watch: z.array(WatchedAction).default([]),
  /** Tried in this order after each event; the first that holds ends the step. */
  outcomes: z.array(Outcome).min(1),
  /** Asking the lead is always possible, so nobody is ever stuck. */
  help: z.strictObject({ ...judged, judgement: Judgement.default('workable'), next: Next }),
})
export type OperateStep = z.infer<typeof OperateStep>

/** Where to go on after spot or order: the first `below` that the fraction is under, else `next`. */
const byFraction = {
  next: Next,
  below: z.array(z.strictObject({ fraction: z.number().gt(0).max(1), next: Next })).default([]),
  source: Id.optional(),
  effects: Effects.optional(),
}

export const SpotStep = z.strictObject({
  kind: z.literal('spot'),
  id: Id,
  competency: Competency,
  scene: z.enum(['room', 'table', 'log', 'door', 'scanner', 'station']),
  things: z
    .array(
      z.strictObject({
        id: Id,
        wrong: z.boolean(),
        /** Missing it is a critical mistake. */
        critical: z.boolean().default(false),
      }),
    )
    .min(3)
    .max(12),
  ...byFraction,
})
export type SpotStep = z.infer<typeof SpotStep>

export const OrderStep = z.strictObject({
  kind: z.literal('order'),
  id: Id,
  competency: Competency,
  /** In the right order. Items with the same `rank` may stand either way round. */
  items: z
    .array(z.strictObject({ id: Id, rank: z.int().min(1).optional() }))
    .min(3)
    .max(8),
  /** Pairs that must not be swapped: doing so is a critical mistake. */
  critical: z.array(z.strictObject({ before: Id, after: Id })).default([]),
  ...byFraction,
})
export type OrderStep = z.infer<typeof OrderStep>

export const EndStep = z.strictObject({
  kind: z.literal('end'),
  id: Id,
  /** How the story came out, for the picture on the last page. */
  mood: z.enum(['well', 'mended', 'harm']),
})
export type EndStep = z.infer<typeof EndStep>

export const Step = z.discriminatedUnion('kind', [DecideStep, OperateStep, SpotStep, OrderStep, EndStep])
export type Step = z.infer<typeof Step>

export const Source = z.strictObject({
  kind: z.enum(['law', 'standard', 'county-procedure', 'common-practice']),
  /** Citation, the same in every language: '52 U.S.C. 10508'. */
  cite: z.string().min(1),
  url: z.url().optional(),
  /** True where the value was written from memory and still has to be checked. */
  fromMemory: z.boolean().default(false),
})
export type Source = z.infer<typeof Source>

/** Profiles on which a lesson makes sense. Absent: any. */
export const ProfileNeeds = z.strictObject({
  marking: z.enum(['device', 'hand']).optional(),
  stationCasts: z.boolean().optional(),
  undervoteNotice: z.array(z.enum(['contest', 'review', 'none'])).optional(),
  audio: z.literal(true).optional(),
  keypad: z.literal(true).optional(),
  switches: z.literal(true).optional(),
  scannerOvervote: z.enum(['returned', 'accepted']).optional(),
})
export type ProfileNeeds = z.infer<typeof ProfileNeeds>

const TextTable = z.record(z.string().regex(/^[a-z0-9-]+(\.[a-z0-9-]+)*$/), z.string())

export const Scenario = z.strictObject({
  id: Id,
  /** Raised with every published change; an attempt keeps the hash of the version that it ran on. */
  version: z.int().min(1),
  /** Place in the list of lessons, 1 to 36 for those that ship. */
  number: z.int().min(1),
  group: z.enum(['voters-and-ballots', 'access', 'equipment-and-records', 'people-and-order']),
  minutes: z.int().min(3).max(8),
  needs: ProfileNeeds.default({}),
  /** Flag → its values; the first is the value at the start. */
  flags: z.record(Id, z.array(Id).min(2).max(6)).default({}),
  stations: z.record(Id, StationSetup).default({}),
  sources: z.record(Id, Source).default({}),
  start: Id,
  steps: z.array(Step).min(2).max(60),
  /** Lines of the printable one-page job aid: texts `job-aid.<id>`. */
  jobAid: z.array(Id).min(3).max(10),
  texts: z.strictObject({ en: TextTable, es: TextTable }),
})
export type Scenario = z.infer<typeof Scenario>

/** One thing that the trainee did. An attempt is an append-only list of these. */
export const PlayEvent = z.discriminatedUnion('type', [
  z.strictObject({ type: z.literal('choose'), option: Id }),
  z.strictObject({ type: z.literal('act'), act: Id }),
  z.strictObject({ type: z.literal('station'), event: z.looseObject({ type: z.string() }) }),
  z.strictObject({ type: z.literal('ask-help') }),
  /** Marks or unmarks a thing in a scene. */
  z.strictObject({ type: z.literal('mark'), thing: Id }),
  /** Moves an item to a place in the list, counted from 0. */
  z.strictObject({ type: z.literal('move'), item: Id, to: z.int().min(0) }),
  z.strictObject({ type: z.literal('hand-in') }),
])
export type PlayEvent = z.infer<typeof PlayEvent>
export const PlayEvents = z.array(PlayEvent).max(5_000)
