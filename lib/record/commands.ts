import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
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

/** The same for the office, when a person asks it for everything. A protected address is left out for those who may
 *  not read it: the person finds it in their own download. @throws AppError NOT_FOUND, FORBIDDEN */
export async function exportRecordOf(
  actor: Actor,
  countyId: string,
  workerId: string,
): Promise<PersonRecord> {
  assertCan(actor, 'changePeople', countyId)
  const missing = new AppError('NOT_FOUND', {
    userMessage: 'There is no such person, or they belong to another county.',
  })
  if (!/^[0-9a-f-]{36}$/.test(workerId)) throw missing
  const worker = await db().pollWorker.findUnique({ where: { id: workerId } })
  if (worker?.countyId !== countyId) throw missing
  const at = systemClock.now()
  const record = await readRecord(workerId, at)
  if (!record) throw missing
  const hidden = [
    ...(can(actor, 'readParty', countyId) ? [] : ['party']),
    ...(can(actor, 'readAccommodations', countyId) ? [] : ['accommodations', 'timeMultiplier']),
    ...(worker.confidentialAddress && !can(actor, 'readConfidentialAddress', countyId)
      ? ['homeAddress', 'homeLat', 'homeLon']
      : []),
  ]
  const person = record.parts.person.map((row) =>
    Object.fromEntries(
      Object.entries(row).map(([name, value]) => [name, hidden.includes(name) ? 'not shown' : value]),
    ),
  )
  await transaction((tx) =>
    appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      {
        event: 'worker.record-exported',
        subject: `worker:${workerId}`,
        detail: { format: 'json, by the office' },
      },
    ),
  )
  return { ...record, parts: { ...record.parts, person } }
}
