import { setImmediate } from 'node:timers/promises'
import {
  applyPlan,
  checkImport,
  claimImport,
  endImport,
  fileOf,
  reportImport,
  StoppedImport,
} from '@/lib/exchange/commands-run'
import { readFile } from '@/lib/exchange/read-file'
import { UnreadableFile } from '@/lib/exchange/table'
import { AppError } from '@/lib/kernel/errors'
import { log } from '@/lib/web/log'

const BEAT_MS = 2000

/** Checks or applies an import: reads its file piece by piece, plans, and keeps the findings or writes. It says every
 *  two seconds that it lives and looks whether somebody asked it to stop. A second delivery of the job does nothing.
 *  The hooks are for tests. */
export async function importFile(
  importId: string,
  hooks: { beforeWrite?: () => Promise<void>; failInWrite?: () => Promise<void> } = {},
): Promise<void> {
  const claimed = await claimImport(importId)
  if (!claimed) return
  const progress = { stage: 'reading', share: 0.01 }
  let stopped = false
  const beat = setInterval(() => {
    reportImport(importId, progress.stage, progress.share)
      .then((goOn) => {
        stopped ||= !goOn
      })
      .catch((error: unknown) => log.warn({ err: error }, 'an import could not report'))
  }, BEAT_MS)
  const at = (stage: string, share: number) => Object.assign(progress, { stage, share })
  try {
    const file = await readFile(fileOf(importId), (bytes) => {
      if (stopped) throw new StoppedImport()
      at('reading', 0.01 + (0.3 * bytes) / Math.max(1, claimed.bytes))
    })
    at('comparing', 0.35)
    await hooks.beforeWrite?.()
    const pause = async () => {
      await setImmediate()
      if (stopped) throw new StoppedImport()
    }
    if (claimed.task === 'check') await checkImport(claimed, file, pause)
    else await applyPlan(claimed, file, at, pause, hooks.failInWrite)
  } catch (error) {
    if (error instanceof StoppedImport) return await endImport(importId, { status: 'stopped' })
    if (error instanceof UnreadableFile)
      return await endImport(importId, { status: 'failed', failure: error.message })
    if (error instanceof AppError)
      return await endImport(importId, { status: 'failed', failure: error.userMessage })
    // What the database says of a refused row may hold the row: only the kind of error is logged.
    log.error(
      { importId, kind: (error as Error).name, code: (error as { code?: unknown }).code },
      'an import failed',
    )
    await endImport(importId, {
      status: 'failed',
      failure: `The import failed and nothing was changed. Try again; if it goes on, tell your administrator this number: ${importId.slice(-8)}`,
    })
  } finally {
    clearInterval(beat)
  }
}
