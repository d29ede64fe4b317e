import { z } from 'zod'
import { CardWay } from './equipment-schema'
import { Id } from './text-schema'

/** Names of people, contests and choices are data of the drawing; they are invented and the same in each language
 *  (proper names) or keys of the lesson's texts (`label` keys, see AUTHORING.md). */
const Label = z.string().min(1).max(80)

/** How a card is held at first: a way that the county's equipment takes, one that it doesn't (as far from it as can
 *  be), or one certain way. */
const StartWay = z.union([z.enum(['right', 'wrong']), CardWay]).default('right')
export type StartWay = z.infer<typeof StartWay>

export const BallotMarkingSetup = z.strictObject({
  kind: z.literal('ballot-marking'),
  card: z
    .strictObject({ way: StartWay, condition: z.enum(['blank', 'printed', 'other-style']).default('blank') })
    .default({ way: 'wrong', condition: 'blank' }),
  /** Where the card is when the lesson starts. */
  starts: z.enum(['hand', 'accepted']).default('hand'),
  contests: z
    .array(
      z.strictObject({
        id: Id,
        /** Key in the lesson's texts: `station.<key>`. */
        label: Id,
        choose: z.int().min(1).max(5),
        choices: z
          .array(z.strictObject({ id: Id, name: Label }))
          .min(2)
          .max(8),
        /** Choices already made when the step starts. */
        chosen: z.array(Id).default([]),
      }),
    )
    .max(6)
    .default([]),
})

export const CheckInSetup = z.strictObject({
  kind: z.literal('check-in'),
  /** Lines of the poll book. The visitor may stand in none of them. */
  lines: z
    .array(
      z.strictObject({
        id: Id,
        name: Label,
        address: Label,
        style: Label,
        status: z.enum(['may-vote', 'already-voted', 'mail-ballot-sent', 'not-active']),
      }),
    )
    .min(1)
    .max(8),
  /** The line that is the visitor's, or null. */
  visitor: Id.nullable(),
  /** Ballot or card styles on the table. */
  styles: z.array(Label).min(1).max(6),
})

export const ScannerSetup = z.strictObject({
  kind: z.literal('scanner'),
  counter: z.int().min(0).default(0),
  power: z.boolean().default(true),
  ballots: z
    .array(
      z.strictObject({
        id: Id,
        marks: z.enum(['fine', 'overvote', 'undervote', 'blank']).default('fine'),
        way: StartWay,
        /** The sheet jams at its first feed. */
        jams: z.boolean().default(false),
      }),
    )
    .min(1)
    .max(6),
  /** Sheets that the box still takes before it is full. */
  room: z.int().min(0).default(500),
})

export const AccessSetup = z.strictObject({
  kind: z.literal('access'),
  tableTopIn: z.int().min(24).max(44).default(36),
  kneeHighIn: z.int().min(20).max(40).default(25),
  routeIn: z.int().min(20).max(72).default(30),
  floorClear: z.boolean().default(false),
  volume: z.int().min(0).max(10).default(8),
  screen: z.enum(['on', 'off']).default('on'),
})

export const ExitSetup = z.strictObject({
  kind: z.literal('exit'),
  people: z
    .array(
      z.strictObject({
        id: Id,
        name: Label,
        carries: z.enum(['nothing', 'ballot', 'sleeve', 'sticker']),
        cast: z.boolean(),
      }),
    )
    .min(1)
    .max(6),
})

export const SealsSetup = z.strictObject({
  kind: z.literal('seals'),
  seals: z
    .array(z.strictObject({ id: Id, label: Id, logged: Label, onSeal: Label }))
    .max(8)
    .default([]),
  /** Report that can be printed, and what its public counter says. */
  reports: z
    .array(z.strictObject({ id: z.enum(['opening', 'closing']), counter: z.int().min(0) }))
    .default([]),
  /** The day's counts, as the papers on the table show them. */
  counts: z
    .strictObject({
      received: z.int().min(0),
      unused: z.int().min(0),
      spoiled: z.int().min(0),
      provisional: z.int().min(0),
      scanned: z.int().min(0),
    })
    .optional(),
})

export const StationSetup = z.discriminatedUnion('kind', [
  BallotMarkingSetup,
  CheckInSetup,
  ScannerSetup,
  AccessSetup,
  ExitSetup,
  SealsSetup,
])
export type StationSetup = z.infer<typeof StationSetup>
export type StationKind = StationSetup['kind']
export type SetupOf<K extends StationKind> = Extract<StationSetup, { kind: K }>
