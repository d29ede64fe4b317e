import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { listRosterRecords, type RosterRecord } from './facts-seen'
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

const SHOWN = 12

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
  const { records, whole } = await listRosterRecords(db(), countyId, electionId, seen)
  const acts = gathered(records)
  return {
    mark: head.mark,
    changes: await inWords(acts.slice(0, SHOWN), actor, head.heldOn),
    more: acts.length > SHOWN || !whole,
  }
}

/** A move is two records of one revision: somebody leaves a seat and takes another. */
function gathered(links: RosterRecord[]): RosterRecord[][] {
  const acts: RosterRecord[][] = []
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

async function inWords(acts: RosterRecord[][], actor: Actor, heldOn: string): Promise<RosterChange[]> {
  const links = acts.flat()
  const ids = (of: (d: RosterRecord['detail']) => (string | null | undefined)[]) => [
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
        servesOn: true,
        position: { select: { nameEn: true } },
        pollingPlace: { select: { code: true, name: true } },
      },
    }),
  ])
  const accountName = new Map(accounts.map((a) => [a.id, a.name]))
  const workerName = new Map(workers.map((w) => [w.id, `${w.givenName} ${w.familyName}`]))
  const seatOf = new Map(seats.map((s) => [s.id, s]))
  const person = (id: string | null | undefined) => (id && workerName.get(id)) || 'somebody'
  const seat = (id: string | undefined, part?: string) => {
    const row = id ? seatOf.get(id) : undefined
    return row ? seatText(row, heldOn, part) : 'a seat'
  }
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
  act: RosterRecord[],
  person: (id: string | null | undefined) => string,
  seat: (id: string | undefined, part?: string) => string,
): string {
  const { event, detail } = act[0]!
  if (event === 'roster.swapped')
    return `changed two people: ${(detail.seatIds ?? []).map((id) => seat(id)).join(' and ')}`
  if (event === 'roster.seat-locked')
    return `${detail.locked ? 'locked' : 'unlocked'} ${seat(detail.seatId, detail.shift)}`
  if (event === 'roster.filled')
    return `had the seats filled: ${detail.filled ?? '?'} of ${detail.seats ?? '?'}`
  if (event === 'roster.published') return `published version ${detail.version ?? ''}`
  const arrival = act.find((l) => l.detail.toWorkerId)
  if (!arrival)
    return `took ${act.map((l) => `${person(l.detail.fromWorkerId)} out of ${seat(l.detail.seatId, l.detail.shift)}`).join(' and ')}`
  const { toWorkerId, fromWorkerId, seatId, shift } = arrival.detail
  const leaving = act.find((l) => !l.detail.toWorkerId && l.detail.fromWorkerId === toWorkerId)
  const instead = fromWorkerId ? ` in place of ${person(fromWorkerId)}` : ''
  return leaving
    ? `moved ${person(toWorkerId)} from ${seat(leaving.detail.seatId, leaving.detail.shift)} to ${seat(seatId, shift)}${instead}`
    : `put ${person(toWorkerId)} in ${seat(seatId, shift)}${instead}`
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
