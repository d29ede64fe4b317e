import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan, can, type Permission } from '@/lib/auth/permissions'
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

/** Writes down that somebody took a list out as a file: which, and how many rows. Whoever reads the list has authorised;
 *  it is asked again here. @throws AppError NOT_FOUND, FORBIDDEN */
export async function recordListExport(
  actor: Actor,
  countyId: string,
  permission: Permission,
  detail: { list: string; rows: number },
): Promise<void> {
  assertCan(actor, permission, countyId)
  await transaction((tx) =>
    appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      { event: 'list.exported', subject: `county:${countyId}`, detail },
    ),
  )
}

/** Everything about a person for the office, when the person asks it for everything. A protected address is left out for those who may
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
      ? ['homeAddress', 'homeLat', 'homeLon', 'homePrecinct']
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
