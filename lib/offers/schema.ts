import { z } from 'zod'
import { isWallTime, type WallTime } from '@/lib/kernel/wall-time'

/** Why somebody declines. Nothing about health or party is asked. What `elsewhere` is true of is about the place or the
 *  work: the person may still be asked for another seat. */
export const DECLINE_REASONS = ['away', 'far', 'hours', 'position', 'private', 'stop'] as const
export type DeclineReason = (typeof DECLINE_REASONS)[number]
/** Reasons that are about this place or this work, not about the day. */
export const PLACE_REASONS: readonly DeclineReason[] = ['far', 'position']

export const CALL_OUTCOMES = ['reached', 'message', 'noAnswer', 'wrongNumber'] as const
export type CallOutcome = (typeof CALL_OUTCOMES)[number]

const Note = (most: number) => z.string().trim().max(most, `At most ${most} characters.`).default('')

const Answer = z.object({
  answer: z.enum(['accepted', 'declined', 'askedElsewhere']),
  reason: z.union([z.enum(DECLINE_REASONS), z.literal('')]).default(''),
  note: Note(500),
})
/** A no without a reason is kept as 'private'; other answers have none. */
const withReason = <A extends z.output<typeof Answer>>(a: A) => ({
  ...a,
  reason: a.answer === 'declined' ? a.reason || ('private' as const) : null,
})

export const AnswerInput = Answer.extend({ offerId: z.uuid() }).transform(withReason)
export type AnswerInput = z.output<typeof AnswerInput>

/** One answer to one offer or several: the days of an early-voting site. */
export const AnswersInput = Answer.extend({ offerIds: z.array(z.uuid()).min(1).max(60) }).transform(
  withReason,
)

export const each = ({ offerIds, ...answer }: z.output<typeof AnswersInput>): AnswerInput[] =>
  offerIds.map((offerId) => ({ ...answer, offerId }))

const Minutes = z.coerce.number('Write a number.').int('Write a whole number.').min(0).max(240)

/** How a county makes its offers: kept in its settings under `offers`. */
export const OfferSettings = z.object({
  officePhone: z.string().trim().max(40).default(''),
  /** When somebody answers there. */
  officeHours: z.string().trim().max(120).default(''),
  arriveBefore: Minutes.default(60),
  leaveAfter: Minutes.default(60),
  changeAt: z.custom<WallTime>(isWallTime, 'Write a time like 13:00.').default('13:00' as WallTime),
})
export type OfferSettings = z.output<typeof OfferSettings>

export function offerSettingsOf(settings: unknown): OfferSettings {
  const own = OfferSettings.safeParse((settings as { offers?: unknown } | null)?.offers ?? {})
  return own.success ? own.data : OfferSettings.parse({})
}
