import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError, unreachable } from '@/lib/kernel/errors'
import { Prisma } from '@/prisma/client/client'
import { ChangeTogether, previewToken } from './change-together'
import { type PeopleFilter, readPeopleFilter } from './filter'
import { listMatching } from './queries-list'

const Ids = z.array(z.uuid()).max(1000)

export const ChangeTogetherInput = z.intersection(
  z.object({
    countyId: z.string().min(1).max(100),
    /** The filter, as the address line of the list. */
    query: z.string().max(2000),
    /** People of the preview to leave out. */
    except: Ids.default([]),
    /** What the preview showed. */
    token: z.string().max(64),
  }),
  ChangeTogether,
)

/** For whom a change is: everybody who fits the filter and for whom it changes something. */
export async function listAffected(
  tx: Tx,
  actor: Actor,
  countyId: string,
  filter: PeopleFilter,
  change: ChangeTogether,
): Promise<{ id: string; name: string; countyRef: string }[]> {
  assertCan(actor, 'changeRoster', countyId)
  if (change.change === 'wants' && change.wantsPositionKey !== null) {
    const key = { countyId, key: change.wantsPositionKey }
    if (!(await tx.position.findUnique({ where: { countyId_key: key } })))
      throw new AppError('INVALID_INPUT', { userMessage: 'This county has no such position.' })
  }
  const people = await listMatching(tx, actor, countyId, filter)
  const rows = await tx.$queryRaw<{ id: string }[]>`
    SELECT w.id FROM "PollWorker" w WHERE w."countyId" = ${countyId} AND ${alreadySo(change)}`
  const already = new Set(rows.map((row) => row.id))
  return people.filter((person) => !already.has(person.id))
}

/** People for whom the change would change nothing. */
function alreadySo(change: ChangeTogether): Prisma.Sql {
  switch (change.change) {
    case 'inactive':
      return Prisma.sql`NOT w.active`
    case 'active':
      return Prisma.sql`w.active`
    case 'wants':
      return Prisma.sql`w."wantsPositionKey" IS NOT DISTINCT FROM ${change.wantsPositionKey}`
    case 'away':
      return Prisma.sql`${change.day} = ANY(w."unavailableOn")`
    case 'free':
      return Prisma.sql`NOT (${change.day} = ANY(w."unavailableOn"))`
    default:
      return unreachable(change)
  }
}

function setting(change: ChangeTogether): Prisma.Sql {
  switch (change.change) {
    case 'inactive':
      return Prisma.sql`active = false`
    case 'active':
      return Prisma.sql`active = true`
    case 'wants':
      return Prisma.sql`"wantsPositionKey" = ${change.wantsPositionKey}`
    case 'away':
      return Prisma.sql`"unavailableOn" = ARRAY(SELECT unnest("unavailableOn" || ${change.day}::text) ORDER BY 1)`
    case 'free':
      return Prisma.sql`"unavailableOn" = array_remove("unavailableOn", ${change.day})`
    default:
      return unreachable(change)
  }
}

/** Makes one change for everybody whom the preview showed, in one transaction; refuses where they are others by now.
 *  Rosters stay: the board marks seats whose person may no longer sit there. Returns for how many.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT, CONFLICT */
export async function changeTogether(
  actor: Actor,
  input: z.output<typeof ChangeTogetherInput>,
): Promise<number> {
  const filter = readPeopleFilter(Object.fromEntries(new URLSearchParams(input.query)))
  const { countyId, except, token, query: _query, ...change } = input
  const left = new Set(except)
  return transaction(async (tx) => {
    const shown = await listAffected(tx, actor, countyId, filter, change)
    if (
      previewToken(
        change,
        shown.map((p) => p.id),
      ) !== token
    )
      throw new AppError('CONFLICT', {
        userMessage:
          'The list has changed since you looked at it; nothing was saved. Look at the people again, then confirm.',
      })
    const ids = shown.map((p) => p.id).filter((id) => !left.has(id))
    if (ids.length === 0) return 0
    await tx.$executeRaw`
      UPDATE "PollWorker" SET ${setting(change)} WHERE id = ANY(${ids}::uuid[]) AND "countyId" = ${countyId}`
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      {
        event: 'workers.changed-together',
        subject: `county:${countyId}`,
        detail: { change: JSON.stringify(change), people: ids.length, workerIds: ids },
      },
    )
    return ids.length
  })
}
