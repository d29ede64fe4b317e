import { z } from 'zod'
import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { getElectionHead } from './queries'
import { seatText } from './queries-move'

/** What was done to an election's roster, from its audit records, in words: so that two clerks see each other's moves. */

export interface RosterChange {
  /** Its number in the chain. */
  key: number
  byMe: boolean
  /** 'Ada Reyes moved Ben Ortiz from … to …' */
  text: string
  /** 'a moment ago', '3 minutes ago', 'at 4:05 PM' */
  when: string
}

export interface RosterChanges {
  /** The roster as it is now. */
  mark: string
  /** Newest first. */
  changes: RosterChange[]
  /** There were more than are listed. */
  more: boolean
}

const LIMIT = 40
const SHOWN = 12
const EVENTS = [
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
  seatIds: z.array(z.string()).optional(),
  fromWorkerId: z.string().nullish(),
  toWorkerId: z.string().nullish(),
  locked: z.boolean().optional(),
  version: z.number().optional(),
  filled: z.number().optional(),
  seats: z.number().optional(),
})
interface Link {
  sequence: number
  at: Date
  by: string | null
  event: string
  detail: z.infer<typeof Detail>
}

/** The changes after the state that somebody has seen (`seen` as a form carries it); without it, the latest ones.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function listChanges(
  actor: Actor,
  countyId: string,
  electionId: string,
  seen: string | null,
): Promise<RosterChanges> {
  const head = await getElectionHead(actor, countyId, electionId)
  if (seen === head.mark) return { mark: head.mark, changes: [], more: false }
  const rows = await db().auditRecord.findMany({
    where: { chain: countyId, subject: `election:${electionId}`, event: { in: [...EVENTS] } },
    orderBy: { sequence: 'desc' },
    take: LIMIT,
  })
  const links: Link[] = rows.flatMap((row) => {
    const detail = Detail.safeParse(row.detail)
    return detail.success
      ? [
          {
            sequence: row.sequence,
            at: row.at,
            by: row.actorAccountId,
            event: row.event,
            detail: detail.data,
          },
        ]
      : []
  })
  const after = seen ? links.slice(0, firstSeen(links, seen)) : links
  const acts = gathered(after)
  return {
    mark: head.mark,
    changes: await inWords(acts.slice(0, SHOWN), actor),
    more: acts.length > SHOWN || (seen !== null && after.length === LIMIT),
  }
}

/** Where the records begin that somebody has seen. The newest stand first. */
function firstSeen(links: Link[], seen: string): number {
  const [rosterId, revisionText] = seen.split(':')
  const revision = Number(revisionText)
  const at = links.findIndex(
    ({ detail, event }) =>
      detail.rosterId === rosterId &&
      event !== 'roster.published' &&
      detail.revision !== undefined &&
      detail.revision <= revision,
  )
  return at < 0 ? links.length : at
}

/** A move is two records of one revision: somebody leaves a seat and takes another. */
function gathered(links: Link[]): Link[][] {
  const acts: Link[][] = []
  for (const link of links) {
    const last = acts.at(-1)
    const same =
      last &&
      link.detail.revision !== undefined &&
      last[0]!.detail.rosterId === link.detail.rosterId &&
      last[0]!.detail.revision === link.detail.revision &&
      last[0]!.event === link.event
    if (same) last.push(link)
    else acts.push([link])
  }
  return acts
}

async function inWords(acts: Link[][], actor: Actor): Promise<RosterChange[]> {
  const links = acts.flat()
  const ids = (of: (d: Link['detail']) => (string | null | undefined)[]) => [
    ...new Set(links.flatMap((l) => of(l.detail)).filter((id): id is string => Boolean(id))),
  ]
  const [accounts, workers, seats] = await Promise.all([
    db().account.findMany({
      where: { id: { in: [...new Set(links.flatMap((l) => l.by ?? []))] } },
      select: { id: true, name: true },
    }),
    db().pollWorker.findMany({
      where: { id: { in: ids((d) => [d.fromWorkerId, d.toWorkerId]) } },
      select: { id: true, givenName: true, familyName: true },
    }),
    db().seat.findMany({
      where: { id: { in: ids((d) => [d.seatId, ...(d.seatIds ?? [])]) } },
      select: {
        id: true,
        number: true,
        shift: true,
        position: { select: { nameEn: true } },
        pollingPlace: { select: { code: true, name: true } },
      },
    }),
  ])
  const accountName = new Map(accounts.map((a) => [a.id, a.name]))
  const workerName = new Map(workers.map((w) => [w.id, `${w.givenName} ${w.familyName}`]))
  const seatName = new Map(seats.map((s) => [s.id, seatText(s)]))
  const person = (id: string | null | undefined) => (id && workerName.get(id)) || 'somebody'
  const seat = (id: string | undefined) => (id && seatName.get(id)) || 'a seat'
  const now = systemClock.now()
  return acts.map((act) => {
    const newest = act[0]!
    const byMe = newest.by === actor.accountId
    const who = byMe ? 'You' : ((newest.by && accountName.get(newest.by)) ?? 'Somebody')
    return {
      key: newest.sequence,
      byMe,
      text: `${who} ${deed(act, person, seat)}`,
      when: whenText(newest.at, now),
    }
  })
}

function deed(
  act: Link[],
  person: (id: string | null | undefined) => string,
  seat: (id: string | undefined) => string,
): string {
  const { event, detail } = act[0]!
  if (event === 'roster.swapped')
    return `changed two people: ${(detail.seatIds ?? []).map(seat).join(' and ')}`
  if (event === 'roster.seat-locked') return `${detail.locked ? 'locked' : 'unlocked'} ${seat(detail.seatId)}`
  if (event === 'roster.filled')
    return `had the seats filled: ${detail.filled ?? '?'} of ${detail.seats ?? '?'}`
  if (event === 'roster.published') return `published version ${detail.version ?? ''}`
  const arrival = act.find((l) => l.detail.toWorkerId)
  const leaving = act.find((l) => !l.detail.toWorkerId)
  if (!arrival) return `took ${person(detail.fromWorkerId)} out of ${seat(detail.seatId)}`
  const { toWorkerId, fromWorkerId, seatId } = arrival.detail
  const instead = fromWorkerId ? ` in place of ${person(fromWorkerId)}` : ''
  return leaving
    ? `moved ${person(toWorkerId)} from ${seat(leaving.detail.seatId)} to ${seat(seatId)}${instead}`
    : `put ${person(toWorkerId)} in ${seat(seatId)}${instead}`
}

function whenText(at: Date, now: Date): string {
  const seconds = Math.max(0, (now.getTime() - at.getTime()) / 1000)
  if (seconds < 60) return 'a moment ago'
  const minutes = Math.round(seconds / 60)
  if (minutes < 60) return minutes === 1 ? '1 minute ago' : `${minutes} minutes ago`
  const hours = Math.round(minutes / 60)
  if (hours < 24) return hours === 1 ? '1 hour ago' : `${hours} hours ago`
  const days = Math.round(hours / 24)
  return days === 1 ? '1 day ago' : `${days} days ago`
}
