import { z } from 'zod'
import type { Mapping } from './core/fields'
import type { VipCounts, VipLocality } from './core/vip-places'

/** What holds for a whole file, beside its columns. */
export const ImportSettings = z.object({
  party: z.string().trim().max(60).optional(),
  listedOn: z.string().max(10).optional(),
  /** Who says that people were trained, where no column does. */
  saidBy: z.string().trim().max(120).optional(),
  localityId: z.string().max(1000).optional(),
})
export type ImportSettings = z.infer<typeof ImportSettings>

/** What a dry run came to: figures and columns, nothing personal. */
export interface ImportOutcome {
  rows: number
  /** Names of the file's columns; empty for a feed. */
  columns: string[]
  mapping: Mapping
  create: number
  change: number
  same: number
  errors: number
  warnings: number
  duplicates: number
  /** What the reader decided by itself. */
  notes: string[]
  feed?: { version: string; electionOn: string; counts: VipCounts; localities: VipLocality[] }
  /** Of what would be written: applying writes this or nothing. */
  planHash: string
}

export type FindingKind = 'error' | 'warning' | 'duplicate' | 'create' | 'change'

export interface Finding {
  kind: FindingKind
  row: number | null
  column: string | null
  value: string | null
  message: string
}

/** More of one kind than this are counted and not listed. */
export const MOST_FINDINGS = 5000
