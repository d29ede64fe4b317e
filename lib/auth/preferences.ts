import { appendAudit, STATE_CHAIN } from '@/lib/audit/append'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import type { Actor } from './actor'

/** Keeps one's own language, colours and text size with the account. Everybody may set their own. */
export async function setPreferences(
  actor: Actor,
  choices: { locale?: string; theme?: string; textSize?: string },
): Promise<void> {
  await transaction(async (tx) => {
    await tx.account.update({ where: { id: actor.accountId }, data: choices })
    await appendAudit(
      tx,
      {
        chain: actor.grants.find((g) => g.countyId)?.countyId ?? STATE_CHAIN,
        actorAccountId: actor.accountId,
        at: systemClock.now(),
      },
      { event: 'account.preferences-set', subject: `account:${actor.accountId}`, detail: choices },
    )
  })
}
