import type { Tx } from '@/lib/db/client'
import { AppError } from '@/lib/kernel/errors'

/** Does the county's rule table limit how many of a crew may be of one party? Then a seat goes on to the same party, so
 *  that the crew's balance stays as it was. */
export async function crewsBindParty(tx: Tx, countyId: string): Promise<boolean> {
  const rules = await tx.crewRules.findFirst({
    where: { countyId },
    orderBy: { version: 'desc' },
    select: { ruleTable: true },
  })
  return Boolean((rules?.ruleTable as { sameParty?: unknown } | null)?.sameParty)
}

/** @throws AppError INVALID_INPUT where the county asks for the same party and it is another. */
export async function assertPartyFits(
  tx: Tx,
  offer: { countyId: string; pollWorkerId: string },
  workerId: string,
): Promise<void> {
  if (!(await crewsBindParty(tx, offer.countyId))) return
  const [before, after] = [
    await tx.pollWorker.findUniqueOrThrow({ where: { id: offer.pollWorkerId }, select: { party: true } }),
    await tx.pollWorker.findUnique({ where: { id: workerId }, select: { party: true } }),
  ]
  if (after && before.party !== after.party)
    throw new AppError('INVALID_INPUT', {
      userMessage:
        'Your crew rules limit how many of a crew may be of one party: choose somebody of the same party. Nothing was changed.',
    })
}
