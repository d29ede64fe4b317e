import type { Tx } from '@/lib/db/client'
import { isLocale } from '@/lib/kernel/wording'
import { enqueueSendings } from './queue'
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
export const writeNotice = async <K extends NoticeKind>(tx: Tx, notice: Notice<K>): Promise<string | null> =>
  (await writeNotices(tx, [notice]))[0] ?? null

/** The same for many messages. Returns the ids of those that weren't written before. */
export async function writeNotices<K extends NoticeKind>(
  tx: Tx,
  notices: readonly Notice<K>[],
): Promise<string[]> {
  if (notices.length === 0) return []
  const rows = await tx.outboxMessage.createManyAndReturn({
    data: notices.map(({ kind, values, to, countyId, onceKey, at }) => {
      const locale = isLocale(to.locale) ? to.locale : 'en'
      return {
        countyId,
        accountId: to.accountId,
        kind,
        toAddress: to.address,
        locale,
        onceKey,
        createdAt: at,
        ...wordNotice(kind, values, locale),
      }
    }),
    skipDuplicates: true,
    select: { id: true, countyId: true },
  })
  await enqueueSendings(tx, rows)
  return rows.map((row) => row.id)
}
