import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { isSilent } from './commands'
import type { ImportKind, Mapping } from './core/fields'
import type { FindingKind, ImportOutcome, ImportSettings } from './outcome'

export interface ImportView {
  id: string
  kind: ImportKind
  fileName: string
  bytes: number
  /** `silent`: under way, but its process is gone. */
  status: string
  stage: string
  progress: number
  cancelAsked: boolean
  createdAt: Date
  finishedAt: Date | null
  waitedSeconds: number
  mapping: Mapping | null
  settings: ImportSettings
  outcome: ImportOutcome | null
  failure: string | null
}

type Row = NonNullable<Awaited<ReturnType<typeof readRow>>>
const readRow = (id: string) => db().import.findUnique({ where: { id } })

function view(row: Row): ImportView {
  const now = systemClock.now()
  const running = row.status === 'checking' || row.status === 'applying'
  return {
    id: row.id,
    kind: row.kind as ImportKind,
    fileName: row.fileName,
    bytes: row.bytes,
    status: running && isSilent(row.heartbeatAt, now) ? 'silent' : row.status,
    stage: row.stage,
    progress: row.progress,
    cancelAsked: row.cancelAsked,
    createdAt: row.createdAt,
    finishedAt: row.finishedAt,
    waitedSeconds: Math.round((now.getTime() - row.createdAt.getTime()) / 1000),
    mapping: row.mapping as Mapping | null,
    settings: row.settings as ImportSettings,
    outcome: row.outcome as unknown as ImportOutcome | null,
    failure: row.failure,
  }
}

/** The newest imports of a county. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listImports(actor: Actor, countyId: string): Promise<ImportView[]> {
  assertCan(actor, 'importData', countyId)
  const rows = await db().import.findMany({
    where: { countyId, status: { not: 'uploading' } },
    orderBy: [{ createdAt: 'desc' }, { id: 'desc' }],
    take: 30,
  })
  return rows.map(view)
}

/** One import. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getImport(actor: Actor, countyId: string, importId: string): Promise<ImportView> {
  assertCan(actor, 'importData', countyId)
  const row = /^[0-9a-f-]{36}$/.test(importId) ? await readRow(importId) : null
  if (!row || row.countyId !== countyId)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such import, or it belongs to another county.',
    })
  return view(row)
}

export const FINDINGS_PAGE = 50

export interface FindingsPage {
  findings: {
    number: number
    row: number | null
    column: string | null
    value: string | null
    message: string
  }[]
  /** How many are listed of each kind. */
  counts: Partial<Record<FindingKind, number>>
  page: number
  pages: number
}

/** One page of what a dry run found, of one kind, in the file's order. The caller has authorised (`getImport`). */
export async function listFindings(importId: string, kind: FindingKind, page: number): Promise<FindingsPage> {
  const groups = await db().importFinding.groupBy({ by: ['kind'], where: { importId }, _count: true })
  const counts = Object.fromEntries(groups.map((g) => [g.kind, g._count])) as FindingsPage['counts']
  const pages = Math.max(1, Math.ceil((counts[kind] ?? 0) / FINDINGS_PAGE))
  const at = Math.min(Math.max(1, page), pages)
  const findings = await db().importFinding.findMany({
    where: { importId, kind },
    orderBy: { number: 'asc' },
    skip: (at - 1) * FINDINGS_PAGE,
    take: FINDINGS_PAGE,
    select: { number: true, row: true, column: true, value: true, message: true },
  })
  return { findings, counts, page: at, pages }
}
