import { z } from 'zod'
import { Id, Translations } from './text-schema'

/** One of the four ways in which a card can meet a slot: which end goes first, which face is up. */
export const CardWay = z.strictObject({ lead: z.enum(['top', 'bottom']), face: z.enum(['up', 'down']) })
export type CardWay = z.infer<typeof CardWay>

/** How a county's own equipment behaves. Three invented ones ship; none depicts a maker's device.
 *  A scenario never hard-codes equipment: stations read their behaviour here, texts take `{{profile:key}}`. */
export const EquipmentProfile = z.strictObject({
  id: Id,
  version: z.int().min(1),
  name: Translations,
  /** What most voters do: mark by hand with a pen, or on a station that prints. Every profile has a station. */
  marking: z.enum(['device', 'hand']),
  /** What the station does after printing: hands the card back, or also drops it into its own box. */
  stationCasts: z.boolean(),
  card: z.strictObject({
    /** What on the card shows the right way in. */
    cue: z.enum(['cut-corner', 'arrow', 'shaded-band']),
    /** The ways that the station takes; every other one comes back out. */
    accepts: z.array(CardWay).min(1).max(4),
    /** What happens to a card of another style or one that is already printed. */
    wrongCard: z.enum(['returned', 'taken-then-returned']),
  }),
  selection: z.strictObject({
    /** Touching another name in a full contest: the new one replaces the old, or the old must be cleared first. */
    whenFull: z.enum(['replace', 'clear-first']),
    /** Where fewer choices than allowed are noticed. */
    undervoteNotice: z.enum(['contest', 'review', 'none']),
  }),
  display: z.strictObject({
    /** Letter heights in millimetres, smallest first; the default is the second. */
    textSizesMm: z.array(z.number().min(3).max(12)).min(2).max(6),
    contrasts: z.array(z.enum(['black-on-white', 'white-on-black', 'low'])).min(2),
  }),
  scanner: z.strictObject({
    accepts: z.array(CardWay).min(1).max(4),
    overvote: z.enum(['returned', 'accepted']),
    undervote: z.enum(['returned', 'accepted']),
    blank: z.enum(['returned', 'accepted']),
  }),
  assistive: z.strictObject({
    audio: z.boolean(),
    keypad: z.boolean(),
    /** Paired switches (also sip-and-puff) through a 3.5 mm jack. */
    switches: z.boolean(),
    screenOff: z.boolean(),
  }),
  checkIn: z.strictObject({
    book: z.enum(['tablet', 'paper']),
    /** What the county's rule asks of a voter before a card is handed over. */
    rule: z.enum(['name-and-address', 'photo-document', 'signature']),
  }),
  /** Minutes on battery when the power fails; 0 where there is none. */
  batteryMinutes: z.int().min(0).max(480),
  /** Words that texts take by `{{profile:key}}`: every profile has the same keys. */
  fragments: z.strictObject({ en: z.record(z.string(), z.string()), es: z.record(z.string(), z.string()) }),
})
export type EquipmentProfile = z.infer<typeof EquipmentProfile>
