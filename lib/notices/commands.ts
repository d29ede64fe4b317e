import { z } from 'zod'
import { appendAudit, STATE_CHAIN } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { QuietHours } from './core/quiet-hours'
import { enqueueSending } from './queue'
import { NO_SERVER } from './send'
import { SECRET_KINDS } from './templates'

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

export const SendAgainInput = z.object({ messageId: z.uuid() })

/** Sends a message of which it isn't known whether it arrived (its reader may get it twice, and a person decided so), or
 *  one that was only shown because no mail server was set. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function sendAgain(actor: Actor, countyId: string | null, messageId: string): Promise<void> {
  assertCan(actor, 'retryJobs', countyId)
  await transaction(async (tx) => {
    const message = await tx.outboxMessage.findFirst({ where: { id: messageId, countyId } })
    if (!message) throw new AppError('NOT_FOUND', { userMessage: 'There is no such message.' })
    if (SECRET_KINDS.has(message.kind))
      throw new AppError('CONFLICT', {
        userMessage: 'A code is not sent again. The person asks for a new one.',
      })
    const { count } = await tx.outboxMessage.updateMany({
      where: { id: messageId, OR: [{ uncertain: true }, { lastError: NO_SERVER }] },
      data: { uncertain: false, failedAt: null, lastError: null },
    })
    if (count === 0)
      throw new AppError('CONFLICT', { userMessage: 'Somebody decided about this message meanwhile.' })
    await enqueueSending(tx, messageId)
    await appendAudit(
      tx,
      { chain: countyId ?? STATE_CHAIN, actorAccountId: actor.accountId, at: systemClock.now() },
      { event: 'message.sent-again', subject: `message:${messageId}`, detail: { kind: message.kind } },
    )
  })
}
