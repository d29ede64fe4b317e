import { appendAudit } from '@/lib/audit/append'
import { insertRows } from '@/lib/db/bulk'
import { db, type Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { enqueuePairs } from '@/lib/people/commands-merge'
import type { Prisma } from '@/prisma/client/client'
import { forgetFile } from './commands'
import type { ImportKind, Mapping } from './core/fields'
import { type Finding, type ImportOutcome, type ImportSettings, MOST_FINDINGS } from './outcome'
import { planFor } from './queries-plan'
import type { ImportOf, MadePlan } from './queries-plan-ground'
import type { FileRead } from './read-file'

/** What the job does with an import. Authorised when it was asked for (commands.ts). */

const APPLY_TIMEOUT_MS = 10 * 60_000

export interface ClaimedImport extends ImportOf {
  id: string
  task: 'check' | 'apply'
  bytes: number
  requestedBy: string
}

/** Takes a waiting import for this process. Null when it was taken, stopped or dropped before. */
export async function claimImport(importId: string): Promise<ClaimedImport | null> {
  return transaction(async (tx) => {
    const [row] = await tx.$queryRaw<{ stage: string }[]>`
      SELECT stage FROM "Import" WHERE id = ${importId}::uuid AND status = 'queued' FOR UPDATE`
    if (!row) return null
    const task = row.stage === 'waiting-apply' ? 'apply' : 'check'
    const claimed = await tx.import.update({
      where: { id: importId },
      data: {
        status: task === 'apply' ? 'applying' : 'checking',
        stage: 'reading',
        progress: 0.01,
        heartbeatAt: systemClock.now(),
      },
    })
    return {
      id: claimed.id,
      task,
      countyId: claimed.countyId,
      kind: claimed.kind as ImportKind,
      mapping: claimed.mapping as Mapping | null,
      settings: claimed.settings as ImportSettings,
      bytes: claimed.bytes,
      requestedBy: claimed.requestedBy,
    }
  })
}

/** A sign of life with the progress (0 to 1). False: stop. */
export async function reportImport(importId: string, stage: string, progress: number): Promise<boolean> {
  const { count } = await db().import.updateMany({
    where: { id: importId, status: { in: ['checking', 'applying'] }, cancelAsked: false },
    data: { stage, progress, heartbeatAt: systemClock.now() },
  })
  return count === 1
}

/** The file of an import, one piece after the other. */
export async function* fileOf(importId: string): AsyncGenerator<Uint8Array> {
  for (let number = 0; ; number++) {
    const chunk = await db().importChunk.findUnique({ where: { importId_number: { importId, number } } })
    if (!chunk) return
    yield chunk.bytes
  }
}

/** Ends a run without any change of the county. */
export async function endImport(
  importId: string,
  how: { status: 'failed' | 'stopped'; failure?: string },
): Promise<void> {
  await db().import.updateMany({
    where: { id: importId, status: { in: ['queued', 'checking', 'applying'] } },
    data: { ...how, stage: 'ended', finishedAt: systemClock.now() },
  })
}

/** The dry run: plans against the county as it is, and keeps what was found. `pause` as `planFor` has it. */
export async function checkImport(
  claimed: ClaimedImport,
  file: FileRead,
  pause?: () => Promise<void>,
): Promise<void> {
  await transaction(
    async (tx) => {
      const made = await planFor(tx, claimed, file, pause)
      await keepFindings(tx, claimed.id, made)
      await finish(tx, claimed, {
        status: 'checked',
        format: file.kind === 'vip' ? `vip-${file.vip.version}` : file.table.format,
        outcome: made.outcome as unknown as Prisma.InputJsonValue,
      })
    },
    { timeoutMs: APPLY_TIMEOUT_MS },
  )
}

async function keepFindings(tx: Tx, importId: string, made: MadePlan): Promise<void> {
  await tx.importFinding.deleteMany({ where: { importId } })
  const listed = new Map<string, number>()
  const kept = made.findings.filter((finding: Finding) => {
    const count = (listed.get(finding.kind) ?? 0) + 1
    listed.set(finding.kind, count)
    return count <= MOST_FINDINGS
  })
  await insertRows(
    tx,
    'ImportFinding',
    kept.map((finding, number) => ({ importId, number, ...finding })),
  )
}

/** Ends the run inside its transaction. @throws AppError CONFLICT when somebody asked to stop: nothing is kept then. */
async function finish(tx: Tx, claimed: ClaimedImport, data: Prisma.ImportUpdateInput): Promise<void> {
  const at = systemClock.now()
  const [row] = await tx.$queryRaw<{ go: boolean }[]>`
    SELECT status IN ('checking', 'applying') AND NOT "cancelAsked" AS go
    FROM "Import" WHERE id = ${claimed.id}::uuid FOR UPDATE`
  if (!row?.go) throw new StoppedImport()
  await tx.import.update({
    where: { id: claimed.id },
    data: { ...data, stage: 'done', progress: 1, finishedAt: at, heartbeatAt: at },
  })
}

export class StoppedImport extends Error {}

/** Writes everything that the dry run showed, or nothing: plans again against the county as it is now, under a lock of
 *  the county's imports, and goes on only where the plan is the one that was shown. `failBefore` is for tests: it runs
 *  at the end of the transaction. @throws AppError CONFLICT, StoppedImport */
export async function applyPlan(
  claimed: ClaimedImport,
  file: FileRead,
  at: (stage: string, share: number) => void,
  pause?: () => Promise<void>,
  failBefore?: () => Promise<void>,
): Promise<void> {
  await transaction(
    async (tx) => {
      await tx.$executeRaw`SELECT pg_advisory_xact_lock(hashtextextended(${`import ${claimed.countyId}`}, 0))`
      const shown = await tx.import.findUniqueOrThrow({ where: { id: claimed.id } })
      at('comparing', 0.4)
      // As the dry run understood the columns, whatever was chosen elsewhere since.
      const outcome = shown.outcome as unknown as ImportOutcome
      const made = await planFor(tx, { ...claimed, mapping: claimed.mapping ?? outcome.mapping }, file, pause)
      if (made.outcome.errors > 0 || made.outcome.planHash !== outcome.planHash)
        throw new AppError('CONFLICT', {
          userMessage:
            'The county’s data has changed since the dry run, so nothing was written. Check the file again and look at what it would change now.',
        })
      at('writing', 0.6)
      const now = systemClock.now()
      await made.write(tx, { accountId: claimed.requestedBy, at: now })
      if (claimed.kind === 'people') await enqueuePairs(tx, claimed.countyId)
      await forgetFile(tx, claimed.id)
      await failBefore?.()
      await finish(tx, claimed, { status: 'applied' })
      const { create, change, same } = made.outcome
      await appendAudit(
        tx,
        { chain: claimed.countyId, actorAccountId: claimed.requestedBy, at: now },
        {
          event: 'import.applied',
          subject: `import:${claimed.id}`,
          detail: { kind: claimed.kind, created: create, changed: change, same },
        },
      )
    },
    { timeoutMs: APPLY_TIMEOUT_MS },
  )
}
