import { z } from 'zod'
import { addDays } from '@/lib/kernel/dates'
import { instantAt, isWallTime, type WallTime, wallTimeAt } from '@/lib/kernel/wall-time'

const Time = z.custom<WallTime>(isWallTime, 'Write a time like 21:00.')

/** When a county's office does not write to people. `from` later than `until`: over midnight; equal: never quiet. */
export const QuietHours = z.object({ from: Time, until: Time })
export type QuietHours = z.infer<typeof QuietHours>

/** What counts until a county sets its own (our choice). */
export const DEFAULT_QUIET_HOURS: QuietHours = { from: '21:00' as WallTime, until: '08:00' as WallTime }

/** The end of the quiet time that an instant lies in, on the county's clocks; null: it isn't quiet. `from` is quiet,
 *  `until` no longer. */
export function quietUntil(hours: QuietHours, at: Date, timeZone: string): Date | null {
  const { from, until } = hours
  if (from === until) return null
  const { date, time } = wallTimeAt(at, timeZone)
  const overMidnight = from > until
  const quiet = overMidnight ? time >= from || time < until : time >= from && time < until
  if (!quiet) return null
  return instantAt(overMidnight && time >= from ? addDays(date, 1) : date, until, timeZone)
}

/** A county's own quiet hours from its settings, else the default. */
export function quietHoursOf(settings: unknown): QuietHours {
  const own = QuietHours.safeParse((settings as { quietHours?: unknown } | null)?.quietHours)
  return own.success ? own.data : DEFAULT_QUIET_HOURS
}
