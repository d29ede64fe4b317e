import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { enqueue } from '@/lib/queue/enqueue'
import { silentSince } from './commands-run'
import { latestRoster } from './facts'

/** The county's packet, from the button to its files. Files are kept until the next packet of the election is done. */

export const PAPERS_TASK = 'make-papers'
export const PapersInput = z.object({ electionId: z.uuid() })

async function electionFor(tx: Tx, actor: Actor, electionId: string) {
  const election = await tx.election.findUnique({ where: { id: electionId } })
  if (!election)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such election, or it belongs to another county.',
    })
  assertCan(actor, 'changeRoster', election.countyId)
  return election
}

export async function requestPapers(
  actor: Actor,
  input: z.output<typeof PapersInput>,
): Promise<{ orderId: string }> {
  return transaction(async (tx) => {
    await tx.$executeRaw`SELECT 1 FROM "Election" WHERE id = ${input.electionId}::uuid FOR NO KEY UPDATE`
    const { id: electionId, countyId } = await electionFor(tx, actor, input.electionId)
    const at = systemClock.now()
    await tx.paperOrder.updateMany({
      where: { electionId, status: 'running', heartbeatAt: { lt: silentSince(at) } },
      data: { status: 'failed', finishedAt: at, failure: 'It ended before it was finished.' },
    })
    if (await tx.paperOrder.findFirst({ where: { electionId, status: { in: ['queued', 'running'] } } }))
      throw new AppError('CONFLICT', {
        userMessage: 'The packet is being made already. Wait for it, or stop it first.',
      })
    if ((await tx.seat.count({ where: { electionId } })) === 0)
      throw new AppError('INVALID_INPUT', {
        userMessage: 'This election has no seats yet: nothing to print.',
      })
    const order = await tx.paperOrder.create({
      data: { countyId, electionId, requestedBy: actor.accountId, createdAt: at },
    })
    await enqueue(
      tx,
      PAPERS_TASK,
      { orderId: order.id },
      { jobKey: `${PAPERS_TASK}:${order.id}`, maxAttempts: 1, countyId },
    )
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      { event: 'papers.asked', subject: `election:${electionId}`, detail: { orderId: order.id } },
    )
    return { orderId: order.id }
  })
}

/** Stops the packet that is being made; the files of an earlier one stay. */
export async function cancelPapers(actor: Actor, input: z.output<typeof PapersInput>): Promise<void> {
  await transaction(async (tx) => {
    const { id: electionId, countyId } = await electionFor(tx, actor, input.electionId)
    const at = systemClock.now()
    const [order] = await tx.$queryRaw<{ id: string; status: string }[]>`
      SELECT id, status::text FROM "PaperOrder" WHERE "electionId" = ${electionId}::uuid
        AND status IN ('queued', 'running') ORDER BY "createdAt" DESC LIMIT 1 FOR UPDATE`
    if (!order) throw new AppError('CONFLICT', { userMessage: 'No packet is being made any more.' })
    await tx.paperOrder.update({
      where: { id: order.id },
      data:
        order.status === 'queued'
          ? { status: 'cancelled', cancelAsked: true, finishedAt: at }
          : { cancelAsked: true },
    })
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      { event: 'papers.cancelled', subject: `election:${electionId}`, detail: { orderId: order.id } },
    )
  })
}

/** Takes a waiting order for this process. Null when it was taken or stopped before. */
export async function claimPapers(orderId: string): Promise<{ electionId: string } | null> {
  return transaction(async (tx) => {
    const { count } = await tx.paperOrder.updateMany({
      where: { id: orderId, status: 'queued' },
      data: { status: 'running', heartbeatAt: systemClock.now(), stage: 'reading', progress: 0.01 },
    })
    if (count === 0) return null
    const order = await tx.paperOrder.findUniqueOrThrow({ where: { id: orderId } })
    const roster = await latestRoster(tx, order.electionId)
    await tx.paperOrder.update({
      where: { id: orderId },
      data: { rosterId: roster?.id ?? null, revision: roster?.revision ?? 0 },
    })
    return { electionId: order.electionId }
  })
}

/** A sign of life. False: stop. */
export async function reportPapers(
  orderId: string,
  progress: { stage: string; share: number },
): Promise<boolean> {
  return transaction(async (tx) => {
    const { count } = await tx.paperOrder.updateMany({
      where: { id: orderId, status: 'running', cancelAsked: false },
      data: { heartbeatAt: systemClock.now(), stage: progress.stage, progress: progress.share },
    })
    return count === 1
  })
}

export async function keepPaperFile(
  orderId: string,
  file: { number: number; name: string; title: string; pages: number; content: Uint8Array<ArrayBuffer> },
): Promise<void> {
  await transaction(async (tx) => {
    await tx.paperFile.create({ data: { orderId, bytes: file.content.byteLength, ...file } })
  })
}

/** The packet is whole: it takes the place of the earlier one. False: it was stopped meanwhile. */
export async function finishPapers(orderId: string): Promise<boolean> {
  return transaction(async (tx) => {
    const at = systemClock.now()
    const { count } = await tx.paperOrder.updateMany({
      where: { id: orderId, status: 'running', cancelAsked: false },
      data: { status: 'done', stage: 'done', progress: 1, finishedAt: at },
    })
    if (count === 0) return false
    const order = await tx.paperOrder.findUniqueOrThrow({
      where: { id: orderId },
      include: { files: { select: { pages: true } } },
    })
    await tx.paperFile.deleteMany({
      where: { order: { electionId: order.electionId, id: { not: orderId } } },
    })
    await appendAudit(
      tx,
      { chain: order.countyId, actorAccountId: order.requestedBy, at },
      {
        event: 'papers.made',
        subject: `election:${order.electionId}`,
        detail: {
          orderId,
          files: order.files.length,
          pages: order.files.reduce((sum, f) => sum + f.pages, 0),
        },
      },
    )
    return true
  })
}

/** Ends an order without files. */
export async function endPapers(
  orderId: string,
  how: { status: 'failed' | 'cancelled'; failure?: string },
): Promise<void> {
  await transaction(async (tx) => {
    await tx.paperFile.deleteMany({ where: { orderId, order: { status: { in: ['queued', 'running'] } } } })
    await tx.paperOrder.updateMany({
      where: { id: orderId, status: { in: ['queued', 'running'] } },
      data: { ...how, finishedAt: systemClock.now(), stage: 'ended' },
    })
  })
}

/** Says in the audit chain that a file of a packet left the house. */
export async function recordPaperDownload(
  actor: Actor,
  electionId: string,
  detail: { orderId: string; number: number },
): Promise<void> {
  await transaction(async (tx) => {
    const election = await tx.election.findUniqueOrThrow({ where: { id: electionId } })
    assertCan(actor, 'readRoster', election.countyId)
    await appendAudit(
      tx,
      { chain: election.countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      { event: 'papers.downloaded', subject: `election:${electionId}`, detail },
    )
  })
}
