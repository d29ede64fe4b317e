import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db, type Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { enqueue } from '@/lib/queue/enqueue'
import type { Prisma } from '@/prisma/client/client'
import { IMPORT_KINDS } from './core/fields'
import { ImportSettings } from './outcome'
import { formatOf } from './read-file'
import { LIMITS, UnreadableFile } from './table'

/** An import from the clerk's button to the job: upload, choose, check again, apply, stop, drop. The county changes in
 *  one transaction of the job alone (commands-run.ts). */

const IMPORT_TASK = 'import'
const CHUNK_BYTES = 1024 * 1024
/** An upload that is still under way after so long was broken off. */
const BROKEN_OFF_MS = 60 * 60_000

const countyId = z.string().regex(/^[a-z0-9-]{1,100}$/i)
export const ImportUpload = ImportSettings.extend({ countyId, kind: z.enum(IMPORT_KINDS) })
export const ImportId = z.object({ countyId, importId: z.uuid() })
export const ImportMapping = ImportId.extend(ImportSettings.shape).loose()

const missing = () =>
  new AppError('NOT_FOUND', { userMessage: 'There is no such import, or it belongs to another county.' })

/** What may be in a file of this size and beginning. @throws AppError */
function checkBeginning(first: Uint8Array, kind: string): number {
  try {
    const format = formatOf(first)
    if (format === 'xml' && kind !== 'places')
      throw new UnreadableFile(
        'An XML feed holds places and precincts. Choose “places” for it, or a CSV or Excel file.',
      )
    return format === 'xml' ? LIMITS.xmlBytes : LIMITS.tableBytes
  } catch (error) {
    if (error instanceof UnreadableFile) throw new AppError('INVALID_INPUT', { userMessage: error.message })
    throw error
  }
}

/** Takes a file in, piece by piece, and asks for its dry run. A file that breaks off or is too large leaves nothing.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function receiveImport(
  actor: Actor,
  input: z.output<typeof ImportUpload>,
  fileName: string,
  pieces: AsyncIterable<Uint8Array>,
): Promise<{ importId: string }> {
  assertCan(actor, 'importData', input.countyId)
  const { countyId, kind, ...settings } = input
  await dropBrokenOff(countyId)
  const { id } = await db().import.create({
    data: {
      countyId,
      kind,
      fileName: fileName.replace(/[\p{Cc}]/gu, '').slice(-120) || 'file',
      settings,
      requestedBy: actor.accountId,
      createdAt: systemClock.now(),
    },
  })
  try {
    const bytes = await keepChunks(id, kind, pieces)
    await transaction(async (tx) => {
      await ask(tx, countyId, id, 'waiting-check', { bytes })
      await appendAudit(
        tx,
        { chain: countyId, actorAccountId: actor.accountId, at: systemClock.now() },
        { event: 'import.uploaded', subject: `import:${id}`, detail: { kind, bytes } },
      )
    })
    return { importId: id }
  } catch (error) {
    await db().import.delete({ where: { id } })
    throw error
  }
}

async function keepChunks(
  importId: string,
  kind: string,
  pieces: AsyncIterable<Uint8Array>,
): Promise<number> {
  let most: number = LIMITS.xmlBytes
  let bytes = 0
  let number = 0
  let waiting: Uint8Array[] = []
  let waitingBytes = 0
  const keep = async () => {
    const chunk = Buffer.concat(waiting)
    if (number === 0) most = checkBeginning(chunk, kind)
    waiting = []
    waitingBytes = 0
    await db().importChunk.create({ data: { importId, number: number++, bytes: new Uint8Array(chunk) } })
  }
  for await (const piece of pieces) {
    bytes += piece.length
    waiting.push(piece)
    waitingBytes += piece.length
    if (waitingBytes >= CHUNK_BYTES) await keep()
    if (bytes > most)
      throw new AppError('INVALID_INPUT', {
        userMessage: `The file is larger than ${most / 1024 / 1024} MB. Delete columns that you don’t need, or split it.`,
      })
  }
  if (bytes === 0)
    throw new AppError('INVALID_INPUT', {
      userMessage: 'The file is empty, or no file was chosen. Choose a file.',
    })
  if (waitingBytes > 0) await keep()
  return bytes
}

const dropBrokenOff = (countyId: string) =>
  db().import.deleteMany({
    where: {
      countyId,
      status: 'uploading',
      createdAt: { lt: new Date(systemClock.now().getTime() - BROKEN_OFF_MS) },
    },
  })

/** Puts an import in the queue. One attempt: who looks at the page decides whether to try again. */
async function ask(
  tx: Tx,
  countyId: string,
  id: string,
  stage: 'waiting-check' | 'waiting-apply',
  more: Prisma.ImportUpdateInput,
) {
  await tx.import.update({
    where: { id },
    data: {
      ...more,
      status: 'queued',
      stage,
      progress: 0,
      cancelAsked: false,
      failure: null,
      finishedAt: null,
      heartbeatAt: null,
    },
  })
  await enqueue(tx, IMPORT_TASK, { importId: id }, { maxAttempts: 1, countyId })
}

/** The import, locked, for somebody who may change it. */
async function lockImport(tx: Tx, actor: Actor, input: z.output<typeof ImportId>) {
  await tx.$executeRaw`SELECT 1 FROM "Import" WHERE id = ${input.importId}::uuid FOR UPDATE`
  const row = await tx.import.findUnique({ where: { id: input.importId } })
  if (!row || row.countyId !== input.countyId) throw missing()
  assertCan(actor, 'importData', row.countyId)
  return row
}

const notNow = (userMessage: string) => new AppError('CONFLICT', { userMessage })
const RESTING = ['checked', 'failed', 'stopped']

/** Another choice of columns, or of what holds for the whole file: the dry run runs again. Fields of the form that are
 *  named `map.FIELD` hold a column; empty ones leave the field out. */
export async function recheckImport(actor: Actor, input: z.output<typeof ImportMapping>): Promise<void> {
  await transaction(async (tx) => {
    const row = await lockImport(tx, actor, input)
    if (!RESTING.includes(row.status))
      throw notNow('This import is under way, applied or dropped. Load the page again.')
    const chosen = Object.entries(input).flatMap(([name, column]) =>
      name.startsWith('map.') && typeof column === 'string' && column !== '' ? [[name.slice(4), column]] : [],
    )
    const columns = chosen.map(([, column]) => column)
    const twice = columns.find((column, i) => columns.indexOf(column) < i)
    if (twice !== undefined)
      throw new AppError('INVALID_INPUT', {
        userMessage: `The column “${twice.slice(0, 60)}” is chosen for two fields. Choose it for one.`,
      })
    const settings = ImportSettings.parse(input)
    await ask(tx, row.countyId, row.id, 'waiting-check', {
      settings: { ...(row.settings as object), ...settings },
      ...(chosen.length > 0 ? { mapping: Object.fromEntries(chosen) } : {}),
    })
  })
}

/** Asks for what the dry run showed to be written. @throws AppError CONFLICT where it had errors or is not over */
export async function applyImport(actor: Actor, input: z.output<typeof ImportId>): Promise<void> {
  await transaction(async (tx) => {
    const row = await lockImport(tx, actor, input)
    if (row.status !== 'checked')
      throw notNow('Only an import whose dry run is finished can be applied. Load the page again.')
    const outcome = row.outcome as { errors: number; create: number; change: number }
    if (outcome.errors > 0)
      throw notNow(
        'The file has errors, so nothing of it can be applied. Mend them in the file and bring it in again.',
      )
    if (outcome.create + outcome.change === 0)
      throw notNow('Nothing in this file is new: everything is in the county already.')
    await ask(tx, row.countyId, row.id, 'waiting-apply', {})
  })
}

/** Stops a run. One that waits ends at once; one at work ends at its next sign of life, before anything is written. */
export async function stopImport(actor: Actor, input: z.output<typeof ImportId>): Promise<void> {
  await transaction(async (tx) => {
    const row = await lockImport(tx, actor, input)
    if (!['queued', 'checking', 'applying'].includes(row.status))
      throw notNow('Nothing is under way any more. Load the page again.')
    const at = systemClock.now()
    await tx.import.update({
      where: { id: row.id },
      data:
        row.status === 'queued' || isSilent(row.heartbeatAt, at)
          ? { status: 'stopped', stage: 'ended', cancelAsked: true, finishedAt: at }
          : { cancelAsked: true },
    })
    await appendAudit(
      tx,
      { chain: row.countyId, actorAccountId: actor.accountId, at },
      { event: 'import.cancelled', subject: `import:${row.id}`, detail: { kind: row.kind } },
    )
  })
}

/** Forgets the file and what was found in it. @throws AppError CONFLICT while it is under way */
export async function dropImport(actor: Actor, input: z.output<typeof ImportId>): Promise<void> {
  await transaction(async (tx) => {
    const row = await lockImport(tx, actor, input)
    if (!RESTING.includes(row.status)) throw notNow('Stop the import first, or wait until it is over.')
    await forgetFile(tx, row.id)
    const at = systemClock.now()
    await tx.import.update({ where: { id: row.id }, data: { status: 'dropped', finishedAt: at } })
    await appendAudit(
      tx,
      { chain: row.countyId, actorAccountId: actor.accountId, at },
      { event: 'import.dropped', subject: `import:${row.id}`, detail: { kind: row.kind } },
    )
  })
}

/** Nobody came back to it for so long: a file with people in it must not lie about. */
const FORGOTTEN_DAYS = 30

/** Drops imports that were left lying, in all counties. Returns how many. */
export async function dropForgotten(now: Date): Promise<number> {
  const before = new Date(now.getTime() - FORGOTTEN_DAYS * 86_400_000)
  const rows = await db().import.findMany({
    where: { status: { in: ['checked', 'failed', 'stopped'] }, finishedAt: { lt: before } },
    select: { id: true, countyId: true, kind: true },
  })
  for (const row of rows)
    await transaction(async (tx) => {
      await forgetFile(tx, row.id)
      await tx.import.update({ where: { id: row.id }, data: { status: 'dropped', finishedAt: now } })
      await appendAudit(
        tx,
        { chain: row.countyId, actorAccountId: null, at: now },
        { event: 'import.dropped', subject: `import:${row.id}`, detail: { kind: row.kind } },
      )
    })
  return rows.length
}

export async function forgetFile(tx: Tx, importId: string): Promise<void> {
  await tx.importChunk.deleteMany({ where: { importId } })
  await tx.importFinding.deleteMany({ where: { importId } })
}

/** A run says every two seconds that it lives; silent for longer than this, its process is gone. */
const SILENT_MS = 20_000
export const isSilent = (heartbeatAt: Date | null, now: Date): boolean =>
  heartbeatAt !== null && now.getTime() - heartbeatAt.getTime() > SILENT_MS
