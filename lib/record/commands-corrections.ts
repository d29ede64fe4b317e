import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { writeNotice } from '@/lib/notices/outbox'
import { REACH_COLUMNS, reachOf } from '@/lib/people/reach'
import { traineeOrThrow } from '@/lib/scenarios/queries'

/** A person says what is wrong in what is kept about them; the office puts it right and says what it did. */

/** More at once is a mistake, or not for a form. */
const MOST_OPEN = 10

export const AskCorrectionInput = z.object({ text: z.string().trim().max(2000) })

/** Asks the office for a correction. Only for oneself. @throws AppError NOT_FOUND, INVALID_INPUT, CONFLICT */
export async function askForCorrection(actor: Actor, input: z.output<typeof AskCorrectionInput>) {
  await transaction(async (tx) => {
    const { id: pollWorkerId, countyId } = await traineeOrThrow(tx, actor)
    if (input.text === '')
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Please check the marked fields. Nothing was saved yet.',
        userMessageEs: 'Revise los campos marcados. Todavía no se guardó nada.',
        fields: {
          text:
            actor.locale === 'es'
              ? 'Escriba qué está mal y cómo debería ser.'
              : 'Write what is wrong, and how it should be.',
        },
      })
    await tx.$queryRaw`SELECT 1 FROM "PollWorker" WHERE id = ${pollWorkerId}::uuid FOR UPDATE`
    const open = await tx.correctionRequest.findMany({ where: { pollWorkerId, answeredAt: null } })
    // A second press of the button.
    if (open.some((request) => request.text === input.text)) return
    if (open.length >= MOST_OPEN)
      throw new AppError('CONFLICT', {
        userMessage: `The office has ${MOST_OPEN} requests of yours to answer already. Please call it.`,
        userMessageEs: `La oficina ya tiene ${MOST_OPEN} solicitudes suyas por responder. Llámela, por favor.`,
      })
    const at = systemClock.now()
    const { id: requestId } = await tx.correctionRequest.create({
      data: { countyId, pollWorkerId, text: input.text, askedAt: at },
    })
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      { event: 'worker.correction-asked', subject: `worker:${pollWorkerId}`, detail: { requestId } },
    )
  })
}

export const AnswerCorrectionInput = z.object({
  countyId: z.string().min(1).max(100),
  requestId: z.uuid(),
  answer: z
    .string()
    .trim()
    .min(1, 'Say what was corrected, or why nothing was.')
    .max(2000, 'Use at most 2000 characters.'),
})

/** Says what was done about a request, and closes it; the person is written to where they have an e-mail. Returns
 *  whether they were. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT where it was answered already */
export async function answerCorrection(
  actor: Actor,
  input: z.output<typeof AnswerCorrectionInput>,
): Promise<{ workerId: string; written: boolean }> {
  return transaction(async (tx) => {
    const { countyId, requestId, answer } = input
    assertCan(actor, 'changePeople', countyId)
    await tx.$queryRaw`SELECT 1 FROM "CorrectionRequest" WHERE id = ${requestId}::uuid FOR UPDATE`
    const request = await tx.correctionRequest.findUnique({
      where: { id: requestId },
      include: { pollWorker: { select: { id: true, givenName: true, familyName: true, ...REACH_COLUMNS } } },
    })
    if (request?.countyId !== countyId)
      throw new AppError('NOT_FOUND', { userMessage: 'There is no such request in this county.' })
    if (request.answeredAt)
      throw new AppError('CONFLICT', {
        userMessage: 'Somebody has answered this request already. Load the page again to see what they said.',
      })
    const at = systemClock.now()
    const { pollWorker: worker } = request
    await tx.correctionRequest.update({
      where: { id: requestId },
      data: { answer, answeredAt: at, answeredBy: actor.accountId },
    })
    const { address, locale, accountId } = reachOf(worker)
    const county = await tx.county.findUniqueOrThrow({ where: { id: countyId } })
    if (address)
      await writeNotice(tx, {
        kind: 'correction-answered',
        values: { name: `${worker.givenName} ${worker.familyName}`, answer, office: county.name },
        to: { address, locale, accountId },
        countyId,
        onceKey: `correction-answered:${requestId}`,
        at,
      })
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      { event: 'worker.correction-answered', subject: `worker:${worker.id}`, detail: { requestId } },
    )
    return { workerId: worker.id, written: address !== null }
  })
}
