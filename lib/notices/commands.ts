import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { QuietHours } from './core/quiet-hours'

export const QuietHoursInput = QuietHours.extend({ countyId: z.string().min(1).max(100) })

/** When nobody of the county is written to, except with what they wait for at the screen.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function setQuietHours(actor: Actor, input: z.output<typeof QuietHoursInput>): Promise<void> {
  const { countyId, ...quietHours } = input
  assertCan(actor, 'changeCounty', countyId)
  const change = JSON.stringify({ quietHours })
  await transaction(async (tx) => {
    await tx.$executeRaw`UPDATE "County" SET settings = settings || ${change}::jsonb WHERE id = ${countyId}`
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      {
        event: 'county.settings-changed',
        subject: `county:${countyId}`,
        detail: { changed: ['quietHours'] },
      },
    )
  })
}
