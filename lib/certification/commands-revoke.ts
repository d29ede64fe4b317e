import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { recordFact } from './commands'

const Reason = z.string().trim().min(3, 'Say in a few words why.').max(200)
export const RevokeCertificateInput = z.object({ certificateId: z.uuid(), reason: Reason })
export const GiveBackCertificateInput = RevokeCertificateInput

async function certificateOf(tx: Tx, actor: Actor, certificateId: string) {
  const certificate = await tx.certificate.findUnique({
    where: { id: certificateId },
    include: { pollWorker: { include: { county: true } } },
  })
  if (!certificate) throw new AppError('NOT_FOUND', { userMessage: 'There is no such certificate.' })
  assertCan(actor, 'revokeCertificate', certificate.countyId)
  if (actor.pollWorkerId === certificate.pollWorkerId)
    throw new AppError('FORBIDDEN', { userMessage: 'Nobody can decide about their own certificate.' })
  await tx.$executeRaw`SELECT 1 FROM "PollWorker" WHERE id = ${certificate.pollWorkerId}::uuid FOR UPDATE`
  return certificate
}

/** Staff take a certificate away, from today: a fact, so that every status follows; the number is revoked for good, and
 *  so are its credentials. Who earns the certificate anew gets a new number. Returns whose it was.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function revokeCertificate(
  actor: Actor,
  { certificateId, reason }: z.output<typeof RevokeCertificateInput>,
): Promise<{ countyId: string; workerId: string }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const { countyId, pollWorkerId, certificateKey, pollWorker } = await certificateOf(
      tx,
      actor,
      certificateId,
    )
    const { count } = await tx.certificate.updateMany({
      where: { id: certificateId, revokedAt: null },
      data: { revokedAt: at, revokedBecause: reason },
    })
    if (count === 0) throw new AppError('CONFLICT', { userMessage: 'This certificate was already revoked.' })
    await tx.certificateIssue.updateMany({
      where: { certificateId, withdrawnAt: null },
      data: { withdrawnAt: at },
    })
    const factId = (await recordFact(
      tx,
      { accountId: actor.accountId, at },
      {
        countyId,
        workerId: pollWorkerId,
        kind: 'certificateRevoked',
        topic: certificateKey,
        on: civilDateAt(at, pollWorker.county.timeZone),
      },
    )) as string
    await tx.certificate.update({ where: { id: certificateId }, data: { revokedFactId: factId } })
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      { event: 'certificate.revoked', subject: `worker:${pollWorkerId}`, detail: { certificateId, factId } },
    )
    return { countyId, workerId: pollWorkerId }
  })
}

/** The revocation was a mistake: from today what was done before counts again. The revoked number stays revoked (a
 *  status list knows no way back); the certificate gets a new one. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function giveBackCertificate(
  actor: Actor,
  { certificateId, reason }: z.output<typeof GiveBackCertificateInput>,
): Promise<{ countyId: string; workerId: string }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    const certificate = await certificateOf(tx, actor, certificateId)
    const { countyId, pollWorkerId, revokedFactId, pollWorker } = certificate
    if (!revokedFactId || (await tx.fact.findUnique({ where: { revokesFactId: revokedFactId } })))
      throw new AppError('CONFLICT', { userMessage: 'There is no revocation to take back.' })
    const factId = (await recordFact(
      tx,
      { accountId: actor.accountId, at },
      {
        countyId,
        workerId: pollWorkerId,
        kind: 'revocation',
        topic: reason,
        on: civilDateAt(at, pollWorker.county.timeZone),
        revokes: revokedFactId,
      },
    )) as string
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      {
        event: 'certificate.given-back',
        subject: `worker:${pollWorkerId}`,
        detail: { certificateId, factId },
      },
    )
    return { countyId, workerId: pollWorkerId }
  })
}
