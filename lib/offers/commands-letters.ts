import { z } from 'zod'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { transaction } from '@/lib/db/transaction'
import { AppError } from '@/lib/kernel/errors'
import { lockElectionRow } from '@/lib/roster/commands-answers'
import { cancelPapers, orderPapers } from '@/lib/roster/commands-papers'

export const LettersInput = z.object({ electionId: z.uuid(), sendingId: z.uuid() })

/** Asks for the letters of a sending, as files to print. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function requestLetters(
  actor: Actor,
  { electionId, sendingId }: z.output<typeof LettersInput>,
): Promise<{ orderId: string }> {
  return transaction(async (tx) => {
    await lockElectionRow(tx, electionId)
    const sending = await tx.offerSending.findFirst({ where: { id: sendingId, electionId } })
    if (!sending)
      throw new AppError('NOT_FOUND', {
        userMessage: 'There is no such sending, or it belongs to another county.',
      })
    assertCan(actor, 'changeRoster', sending.countyId)
    assertCan(actor, 'readHomeAddress', sending.countyId)
    if (sending.finishedAt === null)
      throw new AppError('CONFLICT', {
        userMessage: 'The sending is still under way. Wait for it, or stop it, then make the letters.',
      })
    return orderPapers(tx, actor, { countyId: sending.countyId, electionId, sendingId })
  })
}

/** Stops the letters that are being made; earlier ones stay. */
export const cancelLetters = (actor: Actor, input: z.output<typeof LettersInput>): Promise<void> =>
  cancelPapers(actor, input)
