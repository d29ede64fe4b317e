import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { STATE_CHAIN } from './append'
import { type ChainVerdict, verifyChain } from './verify'

export const AUDIT_PAGE = 100

export interface AuditSummary {
  sequence: number
  at: Date
  actorName: string | null
  event: string
  subject: string
  detail: string
  hash: string
}

/** The newest links of a county's chain (null: the state office's), 100 at a time, before a sequence number; narrowed
 *  by the start of the event's name and by the exact subject. @throws AppError NOT_FOUND, FORBIDDEN. */
export async function listAudit(
  actor: Actor,
  countyId: string | null,
  filter: { event?: string; subject?: string; before?: number } = {},
): Promise<AuditSummary[]> {
  assertCan(actor, 'readAudit', countyId)
  const rows = await db().auditRecord.findMany({
    where: {
      chain: countyId ?? STATE_CHAIN,
      ...(filter.event ? { event: { startsWith: filter.event } } : {}),
      ...(filter.subject ? { subject: filter.subject } : {}),
      ...(filter.before ? { sequence: { lt: filter.before } } : {}),
    },
    orderBy: { sequence: 'desc' },
    take: AUDIT_PAGE,
  })
  const ids = [...new Set(rows.map((row) => row.actorAccountId).filter((id) => id !== null))]
  const names = await db().account.findMany({
    where: { id: { in: ids } },
    select: { id: true, name: true },
  })
  const nameOf = new Map(names.map((account) => [account.id, account.name]))
  return rows.map((row) => ({
    sequence: row.sequence,
    at: row.at,
    actorName: row.actorAccountId && (nameOf.get(row.actorAccountId) ?? 'an account that is gone'),
    event: row.event,
    subject: row.subject,
    detail: JSON.stringify(row.detail),
    hash: row.hash,
  }))
}

/** Walks a county's whole chain now. @throws AppError NOT_FOUND, FORBIDDEN. */
export async function verifyCountyChain(actor: Actor, countyId: string | null): Promise<ChainVerdict> {
  assertCan(actor, 'readAudit', countyId)
  return verifyChain(db(), countyId ?? STATE_CHAIN)
}
