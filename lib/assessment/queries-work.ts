import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db, type Tx } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import type { QuizWork } from '@/prisma/client/client'
import { designOrThrow } from './queries'

/** Running work that has not said for so long that it lives has lost its process. */
export const SILENT_AFTER_MS = 30_000

/** Work on a quiz as its page shows it. */
export interface WorkState {
  status: 'queued' | 'running' | 'done' | 'failed' | 'cancelled'
  stage: string
  /** 0 to 1. */
  progress: number
  cancelAsked: boolean
  failure: string | null
}

export const isUnderWay = (work: WorkState | null): boolean =>
  work !== null && (work.status === 'queued' || work.status === 'running')

const ENDED_UNEXPECTEDLY =
  'It ended before it was finished, because its process was stopped. Nothing was changed. Start it again.'

/** The newest work of a kind on a quiz, with its order; null: there was none. */
export async function newestWork(
  tx: Tx,
  countyId: string,
  quizKey: string,
  kind: QuizWork['kind'],
): Promise<(WorkState & { order: unknown }) | null> {
  const row = await tx.quizWork.findFirst({
    where: { countyId, quizKey, kind },
    orderBy: { createdAt: 'desc' },
  })
  if (!row) return null
  const { status, stage, progress, cancelAsked, failure, order } = row
  const silent =
    status === 'running' &&
    row.heartbeatAt !== null &&
    systemClock.now().getTime() - row.heartbeatAt.getTime() > SILENT_AFTER_MS
  return silent || (status === 'failed' && !failure)
    ? { status: 'failed', stage: 'ended', progress, cancelAsked, failure: ENDED_UNEXPECTEDLY, order }
    : { status, stage, progress, cancelAsked, failure, order }
}

/** How far the newest work is, for a page that asks again and again. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getWorkState(
  actor: Actor,
  countyId: string,
  quizKey: string,
  kind: QuizWork['kind'],
): Promise<WorkState | null> {
  assertCan(actor, 'readQuizzes', countyId)
  const work = await newestWork(db(), countyId, designOrThrow(quizKey).id, kind)
  if (!work) return null
  const { order: _order, ...state } = work
  return state
}
