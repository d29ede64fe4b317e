import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { writeNotice } from '@/lib/notices/outbox'
import { reachOf } from '@/lib/people/reach'
import { enqueue } from '@/lib/queue/enqueue'
import { type Lapse, lapsesByWorker, listLapses, onceKeyOf, REMINDED, reminderWriter } from './facts'

export const WRITE_REMINDERS = 'write-reminders'
/** People in one transaction of the job. */
const CHUNK = 100

export const AskInput = z.object({ countyId: z.string().min(1).max(100), electionId: z.uuid() })

/** Asks for a batch of reminders to everybody whose certificate ends before an election; the job writes it.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT while another batch is being written */
export async function askForReminders(
  actor: Actor,
  input: z.output<typeof AskInput>,
): Promise<{ batchId: string }> {
  const at = systemClock.now()
  return transaction(async (tx) => {
    assertCan(actor, 'writeReminders', input.countyId)
    await tx.$executeRaw`SELECT 1 FROM "County" WHERE id = ${input.countyId} FOR UPDATE`
    const election = await tx.election.findFirst({
      where: { id: input.electionId, countyId: input.countyId },
      include: { county: true },
    })
    if (!election)
      throw new AppError('NOT_FOUND', { userMessage: 'There is no such election in this county.' })
    if (election.heldOn < civilDateAt(at, election.county.timeZone))
      throw new AppError('CONFLICT', { userMessage: 'This election is over. Choose one that lies ahead.' })
    if (await tx.reminderBatch.findFirst({ where: { countyId: input.countyId, finishedAt: null } }))
      throw new AppError('CONFLICT', {
        userMessage: 'A batch is being written right now. Wait until it is done.',
      })
    const { id } = await tx.reminderBatch.create({
      data: {
        countyId: input.countyId,
        electionId: election.id,
        requestedBy: actor.accountId,
        createdAt: at,
      },
    })
    await enqueue(
      tx,
      WRITE_REMINDERS,
      { batchId: id },
      { jobKey: `${WRITE_REMINDERS}:${id}`, countyId: input.countyId },
    )
    await appendAudit(
      tx,
      { chain: input.countyId, actorAccountId: actor.accountId, at },
      { event: 'reminders.asked', subject: `county:${input.countyId}`, detail: { batchId: id } },
    )
    return { batchId: id }
  })
}

/** Writes a batch: one message or letter a person, about what they were not written about before. Some people at a time;
 *  run again after a failure, or twice at once, it goes on where it was and writes nobody twice. For the job. */
export async function writeReminders(batchId: string): Promise<void> {
  const batch = await db().reminderBatch.findUnique({ where: { id: batchId } })
  if (!batch || batch.finishedAt) return
  const { countyId, electionId } = batch
  const [county, election] = await Promise.all([
    db().county.findUniqueOrThrow({ where: { id: countyId } }),
    db().election.findUniqueOrThrow({ where: { id: electionId } }),
  ])
  // As on the day on which it was asked for: a job that runs late finds the same people.
  const today = civilDateAt(batch.createdAt, county.timeZone)
  const lapses = await listLapses(db(), countyId, today, election.heldOn as CivilDate)
  const byWorker = lapsesByWorker(lapses)
  const workerIds = [...byWorker.keys()].sort()
  for (let i = 0; i < workerIds.length; i += CHUNK)
    await writeSome(batch, new Map(workerIds.slice(i, i + CHUNK).map((id) => [id, byWorker.get(id)!])))
  const at = systemClock.now()
  await transaction(async (tx) => {
    const written = await tx.reminder.count({ where: { batchId } })
    const { count } = await tx.reminderBatch.updateMany({
      where: { id: batchId, finishedAt: null },
      data: { finishedAt: at, skipped: Math.max(0, workerIds.length - written) },
    })
    if (count > 0)
      await appendAudit(
        tx,
        { chain: countyId, actorAccountId: null, at },
        { event: 'reminders.written', subject: `county:${countyId}`, detail: { batchId } },
      )
  })
}

async function writeSome(
  batch: { id: string; countyId: string; electionId: string },
  lapses: ReadonlyMap<string, Lapse[]>,
): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    const ids = [...lapses.keys()]
    const [workers, write] = [
      await tx.pollWorker.findMany({ where: { id: { in: ids } }, orderBy: { id: 'asc' }, select: REMINDED }),
      await reminderWriter(tx, batch.countyId, batch.electionId, ids),
    ]
    for (const worker of workers) {
      const reach = reachOf(worker)
      const channel = reach.address ? 'mail' : worker.homeAddress ? 'letter' : 'none'
      const [reminder] = await tx.reminder.createManyAndReturn({
        data: {
          countyId: batch.countyId,
          batchId: batch.id,
          pollWorkerId: worker.id,
          channel,
          locale: reach.locale,
          createdAt: at,
        },
        skipDuplicates: true,
        select: { id: true },
      })
      // Another delivery of the same job was here.
      if (!reminder) continue
      const matters = await tx.reminderMatter.createManyAndReturn({
        data: lapses.get(worker.id)!.map((lapse) => ({
          onceKey: onceKeyOf(lapse),
          reminderId: reminder.id,
          certificateKey: lapse.certificateKey,
          lapsesOn: lapse.lapsesOn,
        })),
        skipDuplicates: true,
      })
      if (matters.length === 0) {
        await tx.reminder.delete({ where: { id: reminder.id } })
        continue
      }
      if (channel !== 'mail') continue
      const outboxMessageId = await writeNotice(tx, {
        kind: 'certificate-lapses',
        values: write(worker, matters, reach.locale),
        to: { address: reach.address as string, locale: reach.locale, accountId: reach.accountId },
        countyId: batch.countyId,
        onceKey: `reminder:${reminder.id}`,
        at,
      })
      await tx.reminder.update({ where: { id: reminder.id }, data: { outboxMessageId } })
    }
  })
}

export const ReminderInput = z.object({ reminderId: z.uuid() })

/** A letter came back. Twice is once. @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function markReturned(actor: Actor, reminderId: string): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    const reminder = await tx.reminder.findUnique({
      where: { id: reminderId },
      include: { matters: true },
    })
    if (!reminder) throw new AppError('NOT_FOUND', { userMessage: 'There is no such letter.' })
    assertCan(actor, 'writeReminders', reminder.countyId)
    if (reminder.channel === 'none')
      throw new AppError('CONFLICT', { userMessage: 'No letter was written to this person.' })
    const { count } = await tx.reminder.updateMany({
      where: { id: reminderId, returnedAt: null },
      data: { returnedAt: at },
    })
    if (count > 0)
      await appendAudit(
        tx,
        { chain: reminder.countyId, actorAccountId: actor.accountId, at },
        { event: 'letter.returned', subject: `worker:${reminder.pollWorkerId}`, detail: { reminderId } },
      )
  })
}

export const CALL_OUTCOMES = ['reached', 'left-message', 'no-answer', 'wrong-number'] as const
export const CallInput = z.object({
  workerId: z.uuid(),
  outcome: z.enum(CALL_OUTCOMES, 'Choose how the call went.'),
  note: z.string().trim().max(300, 'At most 300 characters.').default(''),
})

/** Somebody of the office called a person. @throws AppError NOT_FOUND, FORBIDDEN */
export async function recordCall(actor: Actor, input: z.output<typeof CallInput>): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    const worker = await tx.pollWorker.findUnique({ where: { id: input.workerId } })
    if (!worker) throw new AppError('NOT_FOUND', { userMessage: 'There is no such person.' })
    assertCan(actor, 'writeReminders', worker.countyId)
    await tx.contact.create({
      data: {
        countyId: worker.countyId,
        pollWorkerId: worker.id,
        outcome: input.outcome,
        note: input.note,
        accountId: actor.accountId,
        at,
      },
    })
    await appendAudit(
      tx,
      { chain: worker.countyId, actorAccountId: actor.accountId, at },
      { event: 'worker.called', subject: `worker:${worker.id}`, detail: { outcome: input.outcome } },
    )
  })
}

/** Notes that the letters of a batch were printed. @throws AppError NOT_FOUND, FORBIDDEN */
export async function noteLettersPrinted(
  actor: Actor,
  countyId: string,
  batchId: string,
  letters: number,
): Promise<void> {
  assertCan(actor, 'writeReminders', countyId)
  await transaction((tx) =>
    appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      { event: 'letters.printed', subject: `county:${countyId}`, detail: { batchId, letters } },
    ),
  )
}
