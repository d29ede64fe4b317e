import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { env } from '@/lib/env'
import type { OutboxMessage } from '@/prisma/client/client'
import { NO_SERVER } from './send'
import { SECRET_KINDS } from './templates'
import { withoutAnswerLink } from './templates-offers'

const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i
export const OUTBOX_PAGE = 100

export interface OutboxSummary {
  id: string
  kind: string
  toAddress: string
  subject: string
  /** Where mail is really sent: null for a code, and without the link that answers an offer. */
  body: string | null
  createdAt: Date
  state: 'waiting' | 'sending' | 'sent' | 'failed' | 'uncertain' | 'shown-only'
  sentAt: Date | null
  attempts: number
  lastError: string | null
  /** It may be sent (again): it isn't known whether it arrived, or no mail server was set; and it holds no code. */
  maySendAgain: boolean
}

function stateOf(
  row: Pick<OutboxMessage, 'sentAt' | 'failedAt' | 'sendingAt' | 'uncertain' | 'lastError'>,
  sends: boolean,
): OutboxSummary['state'] {
  if (row.sentAt) return 'sent'
  if (row.failedAt && row.lastError === NO_SERVER) return 'shown-only'
  if (row.failedAt) return row.uncertain ? 'uncertain' : 'failed'
  if (row.sendingAt) return 'sending'
  return sends ? 'waiting' : 'shown-only'
}

/** The newest messages of a county (null: of the state office), 100 at a time, before an id.
 *  Without SMTP nothing is sent: then, for trying the product out, codes and links are shown too.
 *  @throws AppError NOT_FOUND, FORBIDDEN. */
export async function listOutbox(
  actor: Actor,
  countyId: string | null,
  before?: string,
): Promise<OutboxSummary[]> {
  assertCan(actor, 'readOutbox', countyId)
  const sends = env().SMTP_URL !== undefined
  const rows = await db().outboxMessage.findMany({
    where: { countyId, ...(before && UUID.test(before) ? { id: { lt: before } } : {}) },
    orderBy: { id: 'desc' },
    take: OUTBOX_PAGE,
  })
  return rows.map((row) => ({
    id: row.id,
    kind: row.kind,
    toAddress: row.toAddress,
    subject: row.subject,
    body: !sends ? row.body : SECRET_KINDS.has(row.kind) ? null : withoutAnswerLink(row.body),
    createdAt: row.createdAt,
    state: stateOf(row, sends),
    sentAt: row.sentAt,
    attempts: row.attempts,
    lastError: row.lastError === NO_SERVER ? null : row.lastError,
    maySendAgain:
      (row.uncertain || (sends && row.lastError === NO_SERVER)) &&
      !SECRET_KINDS.has(row.kind) &&
      can(actor, 'retryJobs', countyId),
  }))
}
