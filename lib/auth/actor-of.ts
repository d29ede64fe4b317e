import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { isLocale } from '@/lib/kernel/wording'
import type { Actor } from './actor'
import { grantsOpenedBy, isAlive } from './core/lifetimes'

const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i
/** "Last seen" is kept to the minute: a write for each page would cost more than it tells. */
const SEEN_EVERY_MS = 60_000

interface Row {
  accountId: string
  method: string
  sharedTablet: boolean
  lastSeenAt: Date
  expiresAt: Date
  endedAt: Date | null
  name: string
  locale: string
  pollWorkerId: string | null
  disabledAt: Date | null
  grants: Actor['grants']
}

/** Who is behind a sign-in, read anew each time, so that ending it, disabling the account or ending a grant works at
 *  once. Null: unknown, ended, over, lain too long on a shared tablet, or the account is disabled. One query. */
export async function actorOf(signInId: string, at: Date = systemClock.now()): Promise<Actor | null> {
  if (!UUID.test(signInId)) return null
  const [row] = await db().$queryRaw<Row[]>`
    SELECT s."accountId", s.method, s."sharedTablet", s."lastSeenAt", s."expiresAt", s."endedAt",
           a.name, a.locale, a."pollWorkerId", a."disabledAt",
           COALESCE((SELECT json_agg(json_build_object('access', g.access, 'countyId', g."countyId") ORDER BY g.id)
                     FROM "Grant" g WHERE g."accountId" = a.id AND g."endedAt" IS NULL), '[]') AS grants
    FROM "SignIn" s JOIN "Account" a ON a.id = s."accountId" WHERE s.id = ${signInId}::uuid`
  if (!row || row.disabledAt !== null || !isAlive(row, at)) return null
  const grants = grantsOpenedBy(row.method, row.grants)
  if (grants.length === 0) return null
  if (at.getTime() - row.lastSeenAt.getTime() >= SEEN_EVERY_MS)
    await db().signIn.updateMany({
      where: { id: signInId, endedAt: null, lastSeenAt: { lt: at } },
      data: { lastSeenAt: at },
    })
  return {
    accountId: row.accountId,
    signInId,
    name: row.name,
    locale: isLocale(row.locale) ? row.locale : 'en',
    pollWorkerId: row.pollWorkerId,
    sharedTablet: row.sharedTablet,
    grants,
  }
}
