import { z } from 'zod'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { recordFact } from './commands'

export const EarlierTrainingInput = z.object({
  countyId: z.string().min(1).max(100),
  workerId: z.uuid(),
  certificateKey: z.string().min(1).max(100),
  on: CivilDateInput,
  saidBy: z.string().trim().min(2, 'Write who says so: a name or an office.').max(120),
})

/** One person's training from before the county kept its records here, as a file of the kind 'training' brings many in.
 *  Recorded once a person, day and certificate. @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT, CONFLICT */
export async function recordEarlierTraining(
  actor: Actor,
  input: z.output<typeof EarlierTrainingInput>,
): Promise<void> {
  const { countyId, workerId, certificateKey, on, saidBy } = input
  const at = systemClock.now()
  await transaction(async (tx) => {
    assertCan(actor, 'importData', countyId)
    const worker = await tx.pollWorker.findUnique({ where: { id: workerId }, include: { county: true } })
    if (worker?.countyId !== countyId)
      throw new AppError('NOT_FOUND', { userMessage: 'There is no such person in this county.' })
    if ((await tx.position.count({ where: { countyId, certificateKey } })) === 0)
      throw new AppError('INVALID_INPUT', { userMessage: 'The county has no such certificate.' })
    if (on > civilDateAt(at, worker.county.timeZone))
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Please check the marked fields. Nothing was saved yet.',
        fields: { on: 'Choose today or an earlier day.' },
      })
    const recorded = await recordFact(
      tx,
      { accountId: actor.accountId, at },
      {
        countyId,
        workerId,
        kind: 'earlierTraining',
        topic: certificateKey,
        on,
        witnessedBy: saidBy,
        onceKey: earlierTrainingOnce({ workerId, on, certificateKey }),
      },
    )
    if (recorded === null)
      throw new AppError('CONFLICT', {
        userMessage: 'Training for this certificate on that day is on record already.',
      })
  })
}

/** One record a person, day and certificate, however it comes in. */
export const earlierTrainingOnce = (of: { workerId: string; on: string; certificateKey: string }): string =>
  `earlier-training:${of.workerId}:${of.on}:${of.certificateKey}`
