import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { AuditEvent } from '@/lib/audit/events'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { latestRoster, markText } from './facts'
import { type Concerned, untouchedSince } from './facts-seen'
import { STALE } from './words'

/** Opening a draft to change it: the election's row is locked first, so that changes of one election follow each other,
 *  and what the clerk has seen is compared with what is. */

export const Mark = z.string().regex(/^(none|[0-9a-f-]{36}):\d{1,9}$/, 'Load the page again.')

export const missing = (what: string) =>
  new AppError('NOT_FOUND', { userMessage: `There is no such ${what}, or it belongs to another county.` })

export interface Draft {
  id: string
  countyId: string
  electionId: string
  revision: number
}

export async function lockElection(tx: Tx, actor: Actor, electionId: string) {
  await tx.$executeRaw`SELECT 1 FROM "Election" WHERE id = ${electionId}::uuid FOR NO KEY UPDATE`
  const election = await tx.election.findUnique({ where: { id: electionId } })
  if (!election) throw missing('election')
  assertCan(actor, 'changeRoster', election.countyId)
  return election
}

export async function assertSeen(
  tx: Tx,
  of: { countyId: string; electionId: string },
  expected: string,
  concerned: Concerned | null,
) {
  const roster = await latestRoster(tx, of.electionId)
  if (markText({ rosterId: roster?.id ?? null, revision: roster?.revision ?? 0 }) === expected) return roster
  if (
    concerned &&
    roster &&
    !roster.publishedAt &&
    (await untouchedSince(tx, of, { rosterId: roster.id, seen: expected }, concerned))
  )
    return roster
  throw new AppError('CONFLICT', { userMessage: STALE })
}

/** The draft to change: the newest roster, or, where that is published, a copy of it as the next version. An older page
 *  will do where nothing that the change is about was touched since. */
export async function openDraft(
  tx: Tx,
  actor: Actor,
  input: { electionId: string; expected: string },
  concerned: Concerned,
): Promise<Draft> {
  const { electionId } = input
  const { countyId } = await lockElection(tx, actor, electionId)
  const roster = await assertSeen(tx, { countyId, electionId }, input.expected, concerned)
  return draftFrom(tx, { countyId, electionId }, roster)
}

export async function draftFrom(
  tx: Tx,
  of: { countyId: string; electionId: string },
  roster: Awaited<ReturnType<typeof latestRoster>>,
): Promise<Draft> {
  if (roster && !roster.publishedAt) return { ...of, id: roster.id, revision: roster.revision }
  const next = await tx.roster.create({
    data: { ...of, version: (roster?.version ?? 0) + 1, createdAt: systemClock.now() },
  })
  if (roster)
    await tx.$executeRaw`
      INSERT INTO "Seating" (id, "countyId", "rosterId", "seatId", "pollWorkerId", locked, "morningOn", "afternoonOn")
      SELECT gen_random_uuid(), "countyId", ${next.id}::uuid, "seatId", "pollWorkerId", locked, "morningOn", "afternoonOn"
      FROM "Seating" WHERE "rosterId" = ${roster.id}::uuid`
  return { ...of, id: next.id, revision: next.revision }
}

export async function keep(tx: Tx, actor: Actor, draft: Draft, record: AuditEvent): Promise<void> {
  await tx.roster.update({ where: { id: draft.id }, data: { revision: { increment: 1 } } })
  await appendAudit(
    tx,
    { chain: draft.countyId, actorAccountId: actor.accountId, at: systemClock.now() },
    record,
  )
}
