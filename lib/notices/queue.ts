import type { Tx } from '@/lib/db/client'
import { enqueue, enqueueAll } from '@/lib/queue/enqueue'

export const SEND_NOTICE = 'send-notice'

/** Asks the job runner to send a message of the outbox, now or later. */
export async function enqueueSending(tx: Tx, id: string, options: { runAt?: Date } = {}): Promise<void> {
  const message = await tx.outboxMessage.findUnique({ where: { id }, select: { countyId: true } })
  await enqueue(
    tx,
    SEND_NOTICE,
    { id },
    {
      jobKey: `${SEND_NOTICE}:${id}`,
      countyId: message?.countyId ?? null,
      ...options,
    },
  )
}

/** The same for many messages, now. */
export const enqueueSendings = (
  tx: Tx,
  messages: readonly { id: string; countyId: string | null }[],
): Promise<void> =>
  enqueueAll(
    tx,
    SEND_NOTICE,
    messages.map(({ id, countyId }) => ({ payload: { id }, jobKey: `${SEND_NOTICE}:${id}`, countyId })),
  )
