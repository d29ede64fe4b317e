import { appendAudit, STATE_CHAIN } from '@/lib/audit/append'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import type { Actor } from './actor'
import { assertCan } from './permissions'

/** Whether an office (`countyId` null: the state office) asks its staff for an authenticator. Who has none is led to
 *  set one up at the next sign-in; open sign-ins go on. The other settings stay. @throws AppError NOT_FOUND, FORBIDDEN. */
export async function setStaffAuthenticatorRequired(
  actor: Actor,
  countyId: string | null,
  required: boolean,
): Promise<void> {
  assertCan(actor, 'changeCounty', countyId)
  const change = JSON.stringify({ staffAuthenticatorRequired: required })
  await transaction(async (tx) => {
    if (countyId === null) await tx.$executeRaw`UPDATE "State" SET settings = settings || ${change}::jsonb`
    else
      await tx.$executeRaw`UPDATE "County" SET settings = settings || ${change}::jsonb WHERE id = ${countyId}`
    await appendAudit(
      tx,
      { chain: countyId ?? STATE_CHAIN, actorAccountId: actor.accountId, at: systemClock.now() },
      {
        event: 'county.settings-changed',
        subject: `county:${countyId ?? STATE_CHAIN}`,
        detail: { changed: ['staffAuthenticatorRequired'] },
      },
    )
  })
}
