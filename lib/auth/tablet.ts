import { randomUUID } from 'node:crypto'
import { appendAudit } from '@/lib/audit/append'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import type { Actor } from './actor'
import { can } from './permissions'
import { chainOf } from './sign-ins'
import { readSignedText, signText } from './signed-text'

export const TABLET_COOKIE = 'shared-tablet'
/** A class season; then staff turn it on again. */
export const TABLET_DAYS = 90

export interface Tablet {
  tabletId: string
}

/** The tablet that a browser's cookie says it is, or null. */
export const tabletOf = (cookie: string | undefined, at: Date): Tablet | null =>
  readSignedText<Tablet>('shared-tablet', cookie, at)

/** Staff and trainers; whoever may print a card may also lend a tablet. */
export const mayLendTablet = (actor: Actor): boolean =>
  actor.grants.some((grant) => can(actor, 'printSignInCard', grant.countyId))

/** Turns shared tablet mode on (returns the cookie's value) or off for this browser: from then on sign-ins here are by
 *  card only, last half an hour unused, and leave nothing behind. @throws AppError FORBIDDEN. */
export async function setTablet(
  actor: Actor,
  change: { on: true } | { on: false; tabletId: string },
): Promise<{ cookie: string; expiresAt: Date } | null> {
  if (!mayLendTablet(actor))
    throw new AppError('FORBIDDEN', {
      userMessage: 'Only staff can make this a shared tablet. Ask your trainer.',
      userMessageEs: 'Solo el personal puede hacer de esto una tableta compartida. Pregunte a su instructor.',
    })
  const at = systemClock.now()
  const tabletId = change.on ? randomUUID() : change.tabletId
  await transaction((tx) =>
    appendAudit(
      tx,
      { chain: chainOf(actor.grants), actorAccountId: actor.accountId, at },
      {
        event: 'sign-in.tablet-set',
        subject: `account:${actor.accountId}`,
        detail: { tabletId, on: change.on },
      },
    ),
  )
  if (!change.on) return null
  const expiresAt = new Date(at.getTime() + TABLET_DAYS * 86_400_000)
  return { cookie: signText('shared-tablet', { tabletId } satisfies Tablet, expiresAt), expiresAt }
}
