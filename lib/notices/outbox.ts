import type { Tx } from '@/lib/db/client'
import { isLocale } from '@/lib/kernel/wording'
import { enqueueSending } from './queue'
import { type NoticeKind, type NoticeValues, wordNotice } from './templates'

export interface Notice<K extends NoticeKind> {
  kind: K
  values: NoticeValues[K]
  to: { address: string; locale: string; accountId: string | null }
  countyId: string | null
  /** The same key is written to once, ever: `offer:<seat>:<person>`. */
  onceKey?: string
  at: Date
}

/** Puts a message in the outbox and the queue, in the caller's transaction: it is sent if, and only if, the change is
 *  kept. Returns its id, or null where a message with this `onceKey` was written before. */
export async function writeNotice<K extends NoticeKind>(tx: Tx, notice: Notice<K>): Promise<string | null> {
  const locale = isLocale(notice.to.locale) ? notice.to.locale : 'en'
  const [row] = await tx.outboxMessage.createManyAndReturn({
    data: {
      countyId: notice.countyId,
      accountId: notice.to.accountId,
      kind: notice.kind,
      toAddress: notice.to.address,
      locale,
      onceKey: notice.onceKey,
      createdAt: notice.at,
      ...wordNotice(notice.kind, notice.values, locale),
    },
    skipDuplicates: true,
    select: { id: true },
  })
  if (!row) return null
  await enqueueSending(tx, row.id)
  return row.id
}
