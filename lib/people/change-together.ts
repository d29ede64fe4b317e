import { z } from 'zod'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { sha256Hex } from '@/lib/kernel/hash'

/** A change that can be made for many people at once. */
export const ChangeTogether = z.discriminatedUnion('change', [
  z.object({ change: z.literal('inactive') }),
  z.object({ change: z.literal('active') }),
  z.object({
    change: z.literal('wants'),
    wantsPositionKey: z
      .string()
      .max(100)
      .transform((key) => key || null),
  }),
  z.object({ change: z.literal('free'), day: CivilDateInput }),
  z.object({ change: z.literal('away'), day: CivilDateInput }),
])
export type ChangeTogether = z.output<typeof ChangeTogether>

/** Says exactly which change was shown for exactly whom: what is then done is that, or nothing. */
export const previewToken = (change: ChangeTogether, ids: readonly string[]): string =>
  sha256Hex(JSON.stringify([change, [...ids].sort()])).slice(0, 32)
