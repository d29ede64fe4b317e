import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import type { PersonRecord } from './parts'
import { readRecord } from './queries'

/** Hands a person everything that is kept about them, and writes down that it was done. Only to the person themselves.
 *  @throws AppError NOT_FOUND for anybody else. */
export async function exportOwnRecord(actor: Actor, format: 'page' | 'json'): Promise<PersonRecord> {
  const at = systemClock.now()
  const record = actor.pollWorkerId && (await readRecord(actor.pollWorkerId, at))
  if (!record)
    throw new AppError('NOT_FOUND', {
      userMessage: 'This page is for poll workers.',
      userMessageEs: 'Esta página es para trabajadores electorales.',
    })
  const { countyId } = await db().pollWorker.findUniqueOrThrow({
    where: { id: record.workerId },
    select: { countyId: true },
  })
  await transaction((tx) =>
    appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      { event: 'worker.record-exported', subject: `worker:${record.workerId}`, detail: { format } },
    ),
  )
  return record
}
