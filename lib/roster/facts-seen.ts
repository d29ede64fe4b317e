import { z } from 'zod'
import type { Tx } from '@/lib/db/client'

/** What was done to a roster after the state that somebody has seen, from the election's audit records. */

export const ROSTER_EVENTS = [
  'roster.seat-changed',
  'roster.seat-locked',
  'roster.swapped',
  'roster.filled',
  'roster.published',
] as const

const Detail = z.object({
  rosterId: z.string(),
  revision: z.number().optional(),
  seatId: z.string().optional(),
  shift: z.string().optional(),
  seatIds: z.array(z.string()).optional(),
  fromWorkerId: z.string().nullish(),
  toWorkerId: z.string().nullish(),
  locked: z.boolean().optional(),
  version: z.number().optional(),
  filled: z.number().optional(),
  seats: z.number().optional(),
})

export interface RosterRecord {
  sequence: number
  at: Date
  by: string | null
  event: string
  detail: z.infer<typeof Detail>
}

export const RECORDS_LIMIT = 60

/** The newest records first, `RECORDS_LIMIT` at most; those after `seen` only, where it is given. `whole`: none is
 *  missing between then and now. */
export async function listRosterRecords(
  tx: Tx,
  countyId: string,
  electionId: string,
  seen: string | null,
): Promise<{ records: RosterRecord[]; whole: boolean }> {
  const rows = await tx.auditRecord.findMany({
    where: { chain: countyId, subject: `election:${electionId}`, event: { in: [...ROSTER_EVENTS] } },
    orderBy: { sequence: 'desc' },
    take: RECORDS_LIMIT,
  })
  const records = rows.flatMap((row): RosterRecord[] => {
    const detail = Detail.safeParse(row.detail)
    const { sequence, at, actorAccountId: by, event } = row
    return detail.success ? [{ sequence, at, by, event, detail: detail.data }] : []
  })
  if (seen === null) return { records, whole: rows.length < RECORDS_LIMIT }
  const [rosterId, revisionText] = seen.split(':')
  const revision = Number(revisionText)
  const known = records.findIndex(
    ({ detail, event }) =>
      detail.rosterId === rosterId &&
      event !== 'roster.published' &&
      detail.revision !== undefined &&
      detail.revision <= revision,
  )
  return known < 0
    ? { records, whole: rows.length < RECORDS_LIMIT }
    : { records: records.slice(0, known), whole: true }
}

export interface Concerned {
  seatIds: readonly string[]
  workerIds: readonly string[]
}

/** Whether everything that was done to this draft since `seen` is about other seats and other people, so that a change
 *  made on an older page says what its clerk means. False also where that can't be told: another draft, a run, a
 *  publishing, too many changes. */
export async function untouchedSince(
  tx: Tx,
  of: { countyId: string; electionId: string },
  draft: { rosterId: string; seen: string },
  concerned: Concerned,
): Promise<boolean> {
  if (draft.seen.split(':')[0] !== draft.rosterId) return false
  const { records, whole } = await listRosterRecords(tx, of.countyId, of.electionId, draft.seen)
  if (!whole || records.length === 0) return false
  const seats = new Set(concerned.seatIds)
  const workers = new Set(concerned.workerIds)
  return records.every(({ event, detail }) => {
    if (event === 'roster.filled' || event === 'roster.published' || detail.rosterId !== draft.rosterId)
      return false
    const touchedSeats = [detail.seatId, ...(detail.seatIds ?? [])]
    const touchedWorkers = [detail.fromWorkerId, detail.toWorkerId]
    return (
      !touchedSeats.some((id) => id && seats.has(id)) && !touchedWorkers.some((id) => id && workers.has(id))
    )
  })
}
