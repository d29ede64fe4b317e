import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { civilDateAt } from '@/lib/kernel/dates'
import { type ChangeTogether, previewToken } from './change-together'
import { listAffected } from './commands-together'
import type { PeopleFilter } from './filter'
import { listMatching } from './queries-list'

export interface TogetherPreview {
  /** How many the filter finds. */
  matching: number
  /** Those for whom something would change, in name order. */
  affected: { id: string; name: string; countyRef: string }[]
  /** How many of them sit on the newest roster of an election to come. */
  seated: number
  token: string
}

/** What one change would do to everybody of a filter; without a change only how many they are.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function previewTogether(
  actor: Actor,
  countyId: string,
  filter: PeopleFilter,
  change: ChangeTogether | null,
): Promise<TogetherPreview> {
  assertCan(actor, 'changeRoster', countyId)
  const matching = (await listMatching(db(), actor, countyId, filter)).length
  if (!change) return { matching, affected: [], seated: 0, token: '' }
  const affected = await listAffected(db(), actor, countyId, filter, change)
  const ids = affected.map((p) => p.id)
  const { timeZone } = await db().county.findUniqueOrThrow({ where: { id: countyId } })
  const today = civilDateAt(systemClock.now(), timeZone)
  const [row] = await db().$queryRaw<{ people: number }[]>`
    SELECT count(DISTINCT g."pollWorkerId")::int AS people
    FROM "Election" e
    JOIN LATERAL (SELECT id FROM "Roster" r WHERE r."electionId" = e.id ORDER BY version DESC LIMIT 1) r ON true
    JOIN "Seating" g ON g."rosterId" = r.id
    WHERE e."countyId" = ${countyId} AND e."heldOn" >= ${today} AND g."pollWorkerId" = ANY(${ids}::uuid[])`
  return { matching, affected, seated: row!.people, token: previewToken(change, ids) }
}
