import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { traineeOrThrow } from '@/lib/scenarios/queries'

export const WishInput = z.object({
  positionKey: z.string().regex(/^[a-z0-9-]{1,60}$/),
  /** Left out: as it was. */
  offersShift: z.enum(['full', 'morning', 'afternoon']).optional(),
})

/** Which position the person wants to work in, what the path leads to, and in which part of the day. What is agreed
 *  already stays; the board marks a seat that no longer fits. @throws AppError NOT_FOUND, INVALID_INPUT */
export async function setWantedPosition(actor: Actor, input: z.output<typeof WishInput>): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    const worker = await traineeOrThrow(tx, actor)
    const position = await tx.position.findUnique({
      where: { countyId_key: { countyId: worker.countyId, key: input.positionKey } },
    })
    if (!position)
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Choose one of the positions of your county.',
        userMessageEs: 'Elija uno de los puestos de su condado.',
      })
    await tx.pollWorker.update({
      where: { id: worker.id },
      data: { wantsPositionKey: position.key, offersShift: input.offersShift },
    })
    await appendAudit(
      tx,
      { chain: worker.countyId, actorAccountId: actor.accountId, at },
      {
        event: 'worker.wish-set',
        subject: `worker:${worker.id}`,
        detail: {
          positionKey: position.key,
          ...(input.offersShift ? { offersShift: input.offersShift } : {}),
        },
      },
    )
  })
}
