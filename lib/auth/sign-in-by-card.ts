import { transaction } from '@/lib/db/transaction'
import { inUniformTime, type SignInAnswer } from './answers'
import { hashOfCode } from './codes'
import { giveBackTries, type Tries, takeTries } from './limits'
import { canStart, type RequestMeta, startSignIn } from './sign-ins'

const FLOOR_MS = 150

/** Signs a poll worker in by the code on a printed card.
 *  A card is used again and again until it ends or is revoked: its owner trains for weeks, often without e-mail, and
 *  an office can't print a card for each evening. In exchange it opens only the poll worker's own part, its code has
 *  50 bits, failures are limited for each address and for all together, and printing a new one ends the old. */
export async function signInByCard(given: { code: string }, meta: RequestMeta): Promise<SignInAnswer> {
  const tries: Tries = [
    ['card-address', meta.address],
    ['card-all', 'all'],
  ]
  const waitSeconds = await takeTries(tries)
  if (waitSeconds !== null) return { status: 'too-many-tries', waitSeconds }
  return inUniformTime(FLOOR_MS, async () => {
    const signIn = await transaction(async (tx) => {
      const card = await tx.signInCode.findUnique({
        where: { codeHash: hashOfCode(given.code) },
        include: {
          account: { include: { grants: { where: { endedAt: null }, orderBy: { id: 'asc' } } } },
        },
      })
      if (card?.kind !== 'card' || card.revokedAt || card.expiresAt <= meta.at) return null
      if (card.account.disabledAt || !canStart('card', card.account.grants)) return null
      // Guarded, so that a card that is revoked at this moment doesn't open anything any more.
      const { count } = await tx.signInCode.updateMany({
        where: { id: card.id, revokedAt: null },
        data: { usedAt: meta.at },
      })
      return count === 1 ? startSignIn(tx, card.account, 'card', meta) : null
    })
    if (!signIn) return { status: 'refused' }
    await giveBackTries(tries)
    return { status: 'signed-in', signIn }
  })
}
