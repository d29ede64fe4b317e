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

/** Papers that take long to make, from the button to their files: the packet of a county, and the letters of a sending of
 *  offers. Files are kept until newer ones of the same kind are done. */

export const PAPERS_TASK = 'make-papers'
export const PapersInput = z.object({ electionId: z.uuid() })

/** Of which papers: those of the roster, or (with a sending) its letters. */
export interface PapersOf {
  electionId: string
  sendingId: string | null
}

const named = (of: { id: string; sendingId: string | null }) => ({
  orderId: of.id,
  ...(of.sendingId && { sendingId: of.sendingId }),
})

async function electionFor(tx: Tx, actor: Actor, electionId: string) {
  await tx.$executeRaw`SELECT 1 FROM "Election" WHERE id = ${electionId}::uuid FOR NO KEY UPDATE`
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
  { electionId }: z.output<typeof PapersInput>,
): Promise<{ orderId: string }> {
  return transaction(async (tx) => {
    const { countyId } = await electionFor(tx, actor, electionId)
    if ((await tx.seat.count({ where: { electionId } })) === 0)
      throw new AppError('INVALID_INPUT', {
        userMessage: 'This election has no seats yet: nothing to print.',
      })
    return orderPapers(tx, actor, { countyId, electionId, sendingId: null })
  })
}

/** Asks for papers, once at a time. The caller has authorised and holds the election's lock. @throws AppError CONFLICT */
export async function orderPapers(
  tx: Tx,
  actor: Actor,
  { countyId, ...of }: PapersOf & { countyId: string },
): Promise<{ orderId: string }> {
  const at = systemClock.now()
  await tx.paperOrder.updateMany({
    where: { ...of, status: 'running', heartbeatAt: { lt: silentSince(at) } },
    data: { status: 'failed', finishedAt: at, failure: 'It ended before it was finished.' },
  })
  if (await tx.paperOrder.findFirst({ where: { ...of, status: { in: ['queued', 'running'] } } }))
    throw new AppError('CONFLICT', {
      userMessage: `The ${of.sendingId ? 'letters are' : 'packet is'} being made already. Wait, or stop it first.`,
    })
  const order = await tx.paperOrder.create({
    data: { countyId, ...of, requestedBy: actor.accountId, createdAt: at },
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
    { event: 'papers.asked', subject: `election:${of.electionId}`, detail: named(order) },
  )
  return { orderId: order.id }
}

/** Stops the papers that are being made; the files of earlier ones stay. */
export async function cancelPapers(
  actor: Actor,
  { electionId, sendingId = null }: { electionId: string; sendingId?: string | null },
): Promise<void> {
  await transaction(async (tx) => {
    const { countyId } = await electionFor(tx, actor, electionId)
    const at = systemClock.now()
    const [order] = await tx.$queryRaw<{ id: string; status: string }[]>`
      SELECT id, status::text FROM "PaperOrder" WHERE "electionId" = ${electionId}::uuid
        AND "sendingId" IS NOT DISTINCT FROM ${sendingId}::uuid
        AND status IN ('queued', 'running') ORDER BY "createdAt" DESC LIMIT 1 FOR UPDATE`
    if (!order)
      throw new AppError('CONFLICT', {
        userMessage: `No ${sendingId ? 'letters are' : 'packet is'} being made any more.`,
      })
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
      {
        event: 'papers.cancelled',
        subject: `election:${electionId}`,
        detail: named({ id: order.id, sendingId }),
      },
    )
  })
}

/** Takes a waiting order for this process. Null when it was taken or stopped before. */
export async function claimPapers(orderId: string): Promise<PapersOf | null> {
  return transaction(async (tx) => {
    const { count } = await tx.paperOrder.updateMany({
      where: { id: orderId, status: 'queued' },
      data: { status: 'running', heartbeatAt: systemClock.now(), stage: 'reading', progress: 0.01 },
    })
    if (count === 0) return null
    const { electionId, sendingId } = await tx.paperOrder.findUniqueOrThrow({ where: { id: orderId } })
    const roster = await latestRoster(tx, electionId)
    await tx.paperOrder.update({
      where: { id: orderId },
      data: { rosterId: roster?.id ?? null, revision: roster?.revision ?? 0 },
    })
    return { electionId, sendingId }
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

/** The papers are whole: they take the place of the earlier ones. False: they were stopped meanwhile. */
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
    const { electionId, sendingId } = order
    await tx.paperFile.deleteMany({ where: { order: { electionId, sendingId, id: { not: orderId } } } })
    await appendAudit(
      tx,
      { chain: order.countyId, actorAccountId: order.requestedBy, at },
      {
        event: 'papers.made',
        subject: `election:${electionId}`,
        detail: {
          ...named(order),
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

/** Says in the audit chain that a file of papers left the house. */
export async function recordPaperDownload(
  actor: Actor,
  electionId: string,
  detail: { orderId: string; sendingId?: string; number: number },
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
