import { z } from 'zod'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { recordFact } from '@/lib/certification/commands'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'

/** The topic of oath facts: one oath of office; a rule says for which election. */
export const OATH = 'oath'

export const OathInput = z.object({
  countyId: z.string().min(1).max(100),
  electionId: z.uuid(),
  workerIds: z.array(z.uuid()).min(1, 'Mark at least one person.').max(200),
  /** Name and office, as on the signed paper. */
  administeredBy: z.string().trim().min(3, 'Write the name and office, as on the paper.').max(160),
  on: CivilDateInput,
})

/** Records that people swore the oath for an election, and before whom. Who has an oath on record for it is left as
 *  they are. All or nothing. @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function recordOath(
  actor: Actor,
  input: z.output<typeof OathInput>,
): Promise<{ recorded: number; already: number }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    assertCan(actor, 'recordOath', input.countyId)
    const election = await tx.election.findFirst({
      where: { id: input.electionId, countyId: input.countyId },
      include: { county: true },
    })
    if (!election)
      throw new AppError('NOT_FOUND', { userMessage: 'There is no such election in this county.' })
    if (input.on > civilDateAt(at, election.county.timeZone))
      throw new AppError('INVALID_INPUT', {
        userMessage: 'An oath can’t lie in the future.',
        fields: { on: 'Choose today or an earlier day.' },
      })
    const workers = await tx.pollWorker.findMany({
      where: { id: { in: input.workerIds }, countyId: input.countyId },
      orderBy: { id: 'asc' },
      select: {
        id: true,
        facts: { where: { kind: 'oathSworn', topic: OATH, electionId: election.id }, select: { id: true } },
      },
    })
    if (workers.length !== new Set(input.workerIds).size)
      throw new AppError('NOT_FOUND', {
        userMessage: 'Somebody marked is not in this county. Nothing was saved.',
      })
    const oaths = workers.flatMap((worker) => worker.facts.map((fact) => fact.id))
    const revoked = new Set(
      (
        await tx.fact.findMany({ where: { revokesFactId: { in: oaths } }, select: { revokesFactId: true } })
      ).map((fact) => fact.revokesFactId),
    )
    let recorded = 0
    for (const worker of workers) {
      if (worker.facts.some((fact) => !revoked.has(fact.id))) continue
      const factId = await recordFact(
        tx,
        { accountId: actor.accountId, at },
        {
          countyId: input.countyId,
          workerId: worker.id,
          kind: 'oathSworn',
          topic: OATH,
          on: input.on,
          electionId: election.id,
          witnessedBy: input.administeredBy,
          // An oath that was taken back may be sworn again; two clerks at once record it once.
          onceKey: `oath:${election.id}:${worker.id}:${worker.facts.length}`,
        },
      )
      if (factId) recorded++
    }
    return { recorded, already: workers.length - recorded }
  })
}
