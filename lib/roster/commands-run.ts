import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { halvesOf } from '@/lib/kernel/day-parts'
import { AppError } from '@/lib/kernel/errors'
import { enqueue } from '@/lib/queue/enqueue'
import type { Prisma } from '@/prisma/client/client'
import { draftFrom } from './commands-draft'
import { latestRoster, type RosterGround } from './facts'
import { countOverParty } from './facts-wishes'
import type { RunOutcome } from './outcome'
import type { Seating } from './schema'

/** One run of the optimiser, from the clerk's button to the written seatings. A run changes nothing until its last
 *  transaction, which writes everything or nothing. */

/** A running run says every two seconds that it lives; silent for longer than this, its process is gone. */
export const SILENT_AFTER_SECONDS = 20

export const silentSince = (now: Date): Date => new Date(now.getTime() - SILENT_AFTER_SECONDS * 1000)

export const ENDED_UNEXPECTEDLY =
  'The run ended before it was finished (its process was stopped). The roster is as it was before. You can start it again.'

const FILL_TASK = 'fill-roster'

export const RunInput = z.object({ electionId: z.uuid() })

/** Asks for a run: the row, the audit record and the job in one transaction. One run an election at a time. */
export async function requestRosterRun(
  actor: Actor,
  input: z.output<typeof RunInput>,
): Promise<{ runId: string }> {
  return transaction(async (tx) => {
    await tx.$executeRaw`SELECT 1 FROM "Election" WHERE id = ${input.electionId}::uuid FOR NO KEY UPDATE`
    const election = await tx.election.findUnique({ where: { id: input.electionId } })
    if (!election)
      throw new AppError('NOT_FOUND', {
        userMessage: 'There is no such election, or it belongs to another county.',
      })
    assertCan(actor, 'changeRoster', election.countyId)
    const at = systemClock.now()
    await closeSilentRuns(tx, election.id, at)
    const active = await tx.rosterRun.findFirst({
      where: { electionId: election.id, status: { in: ['queued', 'running'] } },
    })
    if (active)
      throw new AppError('CONFLICT', {
        userMessage: 'A run of this election is already under way. Wait for it, or stop it first.',
      })
    if ((await tx.seat.count({ where: { electionId: election.id } })) === 0)
      throw new AppError('INVALID_INPUT', { userMessage: 'This election has no seats yet.' })
    const run = await tx.rosterRun.create({
      data: {
        countyId: election.countyId,
        electionId: election.id,
        requestedBy: actor.accountId,
        createdAt: at,
      },
    })
    // One attempt: a run that died is shown as ended, and a person decides whether to start another.
    await enqueue(
      tx,
      FILL_TASK,
      { runId: run.id },
      { jobKey: `${FILL_TASK}:${run.id}`, maxAttempts: 1, countyId: election.countyId },
    )
    await appendAudit(
      tx,
      { chain: election.countyId, actorAccountId: actor.accountId, at },
      { event: 'roster.run-asked', subject: `election:${election.id}`, detail: { runId: run.id } },
    )
    return { runId: run.id }
  })
}

/** Marks runs whose process is gone as failed. */
async function closeSilentRuns(tx: Tx, electionId: string, now: Date): Promise<void> {
  await tx.rosterRun.updateMany({
    where: { electionId, status: 'running', heartbeatAt: { lt: silentSince(now) } },
    data: { status: 'failed', failure: ENDED_UNEXPECTEDLY, finishedAt: now },
  })
}

/** Stops a run. One that still waits ends at once; one at work ends at its next sign of life. */
export async function cancelRosterRun(actor: Actor, input: z.output<typeof RunInput>): Promise<void> {
  await transaction(async (tx) => {
    const election = await tx.election.findUnique({ where: { id: input.electionId } })
    if (!election)
      throw new AppError('NOT_FOUND', {
        userMessage: 'There is no such election, or it belongs to another county.',
      })
    assertCan(actor, 'changeRoster', election.countyId)
    const at = systemClock.now()
    const [run] = await tx.$queryRaw<{ id: string; status: string }[]>`
      SELECT id, status::text FROM "RosterRun" WHERE "electionId" = ${election.id}::uuid
        AND status IN ('queued', 'running') ORDER BY "createdAt" DESC LIMIT 1 FOR UPDATE`
    if (!run) throw new AppError('CONFLICT', { userMessage: 'No run is under way any more.' })
    await tx.rosterRun.update({
      where: { id: run.id },
      data:
        run.status === 'queued'
          ? { status: 'cancelled', cancelAsked: true, finishedAt: at }
          : { cancelAsked: true },
    })
    await appendAudit(
      tx,
      { chain: election.countyId, actorAccountId: actor.accountId, at },
      { event: 'roster.run-cancelled', subject: `election:${election.id}`, detail: { runId: run.id } },
    )
  })
}

/** Takes a waiting run for this process. Null when it was taken, stopped or ended before: a job that the queue
 *  delivers twice does nothing the second time. */
export async function claimRun(runId: string): Promise<{ electionId: string; requestedBy: string } | null> {
  return transaction(async (tx) => {
    const at = systemClock.now()
    const { count } = await tx.rosterRun.updateMany({
      where: { id: runId, status: 'queued' },
      data: { status: 'running', startedAt: at, heartbeatAt: at, stage: 'reading', progress: 0.01 },
    })
    if (count === 0) return null
    return tx.rosterRun.findUniqueOrThrow({
      where: { id: runId },
      select: { electionId: true, requestedBy: true },
    })
  })
}

/** A sign of life with the progress (0 to 1). False: stop, somebody asked for it or the run was ended. */
export async function reportRun(runId: string, progress: { stage: string; share: number }): Promise<boolean> {
  return transaction(async (tx) => {
    const { count } = await tx.rosterRun.updateMany({
      where: { id: runId, status: 'running', cancelAsked: false },
      data: { heartbeatAt: systemClock.now(), stage: progress.stage, progress: progress.share },
    })
    return count === 1
  })
}

/** Ends a run without any change of the roster. */
export async function endRun(
  runId: string,
  how: { status: 'failed' | 'cancelled'; failure?: string },
): Promise<void> {
  await transaction(async (tx) => {
    await tx.rosterRun.updateMany({
      where: { id: runId, status: { in: ['queued', 'running'] } },
      data: { ...how, finishedAt: systemClock.now(), stage: 'ended' },
    })
  })
}

/** Keeps who sat where before this run, in place of what was kept for an earlier one. */
async function keepBefore(tx: Tx, runId: string, electionId: string, rosterId: string): Promise<void> {
  await tx.seatingBefore.deleteMany({ where: { run: { electionId } } })
  await tx.$executeRaw`
    INSERT INTO "SeatingBefore" ("runId", "seatId", "pollWorkerId", shift, locked)
    SELECT ${runId}::uuid, "seatId", "pollWorkerId",
      CASE WHEN "afternoonOn" IS NULL THEN 'morning' WHEN "morningOn" IS NULL THEN 'afternoon' ELSE 'full' END, locked
    FROM "Seating" WHERE "rosterId" = ${rosterId}::uuid`
}

export type WriteVerdict = 'written' | 'roster-changed' | 'stopped'

/** Writes what a run found: all seatings, the run's outcome and the audit record, or nothing. Locked seatings stay.
 *  `failBefore` is for tests: it runs at the end of the transaction. */
export async function writeRun(
  runId: string,
  ground: RosterGround,
  found: { seatings: readonly Seating[] },
  outcomeOf: (written: { rosterId: string; revision: number; overParty: number }) => RunOutcome,
  failBefore?: () => void,
): Promise<WriteVerdict> {
  return transaction(async (tx) => {
    const { electionId, countyId } = ground
    await tx.$executeRaw`SELECT 1 FROM "Election" WHERE id = ${electionId}::uuid FOR NO KEY UPDATE`
    const [run] = await tx.$queryRaw<{ status: string; cancelAsked: boolean; requestedBy: string }[]>`
      SELECT status::text, "cancelAsked", "requestedBy" FROM "RosterRun" WHERE id = ${runId}::uuid FOR UPDATE`
    if (run?.status !== 'running' || run.cancelAsked) return 'stopped'
    const roster = await latestRoster(tx, electionId)
    if ((roster?.id ?? null) !== ground.mark.rosterId || (roster?.revision ?? 0) !== ground.mark.revision)
      return 'roster-changed'
    const draft = await draftFrom(tx, { countyId, electionId }, roster)
    await keepBefore(tx, runId, electionId, draft.id)
    await tx.seating.deleteMany({ where: { rosterId: draft.id, locked: false } })
    const keyOf = (s: Seating) => `${s.seatId} ${s.personId} ${s.half}`
    const locked = new Set(ground.instance.locks.map(keyOf))
    const dateOf = new Map(ground.instance.seats.map((seat) => [seat.id, seat.date]))
    const rows = found.seatings
      .filter((s) => !locked.has(keyOf(s)))
      .map((s) => ({
        countyId,
        rosterId: draft.id,
        seatId: s.seatId,
        pollWorkerId: s.personId,
        ...halvesOf(s.half, dateOf.get(s.seatId)!),
      }))
    for (let i = 0; i < rows.length; i += 4000) await tx.seating.createMany({ data: rows.slice(i, i + 4000) })
    const at = systemClock.now()
    const revision = draft.revision + 1
    await tx.roster.update({ where: { id: draft.id }, data: { revision } })
    const overParty = await countOverParty(tx, { id: draft.id, countyId, electionId })
    const outcome = outcomeOf({ rosterId: draft.id, revision, overParty })
    await tx.rosterRun.update({
      where: { id: runId },
      data: {
        status: 'done',
        stage: 'done',
        progress: 1,
        finishedAt: at,
        heartbeatAt: at,
        fromRevision: ground.mark.revision,
        outcome: outcome as unknown as Prisma.InputJsonValue,
      },
    })
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: run.requestedBy, at },
      {
        event: 'roster.filled',
        subject: `election:${electionId}`,
        detail: {
          runId,
          rosterId: draft.id,
          revision,
          filled: outcome.filled,
          seats: ground.instance.seats.length,
        },
      },
    )
    failBefore?.()
    return 'written'
  })
}
