import type { Tx } from '@/lib/db/client'
import { addDays, type CivilDate } from '@/lib/kernel/dates'
import type { DayPart } from '@/lib/kernel/day-parts'
import { Prisma } from '@/prisma/client/client'
import { DECISIVE, type DecisiveKind, type OfferState, stateAfter } from './core/status'

/** Offers beside rosters: who has none yet, whose seat is somebody else's by now, how all of them stand. */

export interface Rosters {
  /** The newest published version. */
  published: string
  /** The newest of all: the same, or a draft that changes it. */
  newest: string
}

/** Null: nothing is published. */
export async function latestRosters(tx: Tx, electionId: string): Promise<Rosters | null> {
  const rows = await tx.roster.findMany({
    where: { electionId },
    orderBy: { version: 'desc' },
    select: { id: true, publishedAt: true },
  })
  const published = rows.find((r) => r.publishedAt !== null)
  return published ? { published: published.id, newest: rows[0]!.id } : null
}

const DECISIVE_KINDS = Prisma.join(DECISIVE.map((kind) => Prisma.sql`${kind}::"OfferEventKind"`))

/** The event of an offer `o` that decides. */
const DECIDING = Prisma.sql`LATERAL (
  SELECT e.kind, e.at, e.via, e.reason FROM "OfferEvent" e
  WHERE e."offerId" = o.id AND e.kind IN (${DECISIVE_KINDS}) ORDER BY e.sequence DESC LIMIT 1)`

/** Which part of the day a row `g` of "Seating" takes, as an offer names it. */
const PART = Prisma.sql`CASE WHEN g."afternoonOn" IS NULL THEN 'morning' WHEN g."morningOn" IS NULL THEN 'afternoon' ELSE 'full' END`

/** People who sit in the published roster, and still in the newest one, in a seat (or half of one) that nobody has offered
 *  them. */
const toOffer = (rosters: Rosters) => Prisma.sql`
  FROM "Seating" g
  JOIN "Seating" n ON n."rosterId" = ${rosters.newest}::uuid AND n."seatId" = g."seatId" AND n."pollWorkerId" = g."pollWorkerId"
    AND n."morningOn" IS NOT DISTINCT FROM g."morningOn" AND n."afternoonOn" IS NOT DISTINCT FROM g."afternoonOn"
  JOIN "PollWorker" w ON w.id = g."pollWorkerId" AND w.active
  LEFT JOIN "Offer" o ON o."seatId" = g."seatId" AND o."pollWorkerId" = g."pollWorkerId" AND o.shift = ${PART}
  LEFT JOIN ${DECIDING} d ON true
  WHERE g."rosterId" = ${rosters.published}::uuid AND (o.id IS NULL OR d.kind IN ('declined', 'withdrawn'))`

export async function countPeopleToOffer(tx: Tx, rosters: Rosters): Promise<number> {
  const [row] = await tx.$queryRaw<{ n: number }[]>`
    SELECT count(DISTINCT g."pollWorkerId")::int AS n ${toOffer(rosters)}`
  return row!.n
}

/** Of the people to offer to, those whom only a letter reaches. */
export async function countLettersToOffer(tx: Tx, rosters: Rosters): Promise<number> {
  const [row] = await tx.$queryRaw<{ n: number }[]>`
    SELECT count(DISTINCT g."pollWorkerId")::int AS n ${toOffer(rosters)} AND w.email IS NULL AND NOT EXISTS (
      SELECT 1 FROM "Account" a WHERE a."pollWorkerId" = w.id AND a.email IS NOT NULL AND a."disabledAt" IS NULL)`
  return row!.n
}

export const listPeopleToOffer = async (tx: Tx, rosters: Rosters, most: number): Promise<string[]> =>
  (
    await tx.$queryRaw<{ id: string }[]>`
      SELECT DISTINCT g."pollWorkerId" AS id ${toOffer(rosters)} ORDER BY 1 LIMIT ${most}`
  ).map((r) => r.id)

export const listSeatsToOffer = (tx: Tx, rosters: Rosters, people: string[]) =>
  tx.$queryRaw<{ seatId: string; pollWorkerId: string; shift: DayPart }[]>`
    SELECT g."seatId", g."pollWorkerId", ${PART} AS shift ${toOffer(rosters)} AND g."pollWorkerId" = ANY(${people}::uuid[])
    ORDER BY 2, 1`

/** Offers that stand although somebody else (or nobody) has the seat, or the person another part of its day, in the published roster and in the newest. */
export const listStray = async (
  tx: Tx,
  electionId: string,
  rosters: Rosters,
  most: number,
): Promise<string[]> =>
  (
    await tx.$queryRaw<{ id: string }[]>`
      SELECT o.id FROM "Offer" o JOIN ${DECIDING} d ON true
      WHERE o."electionId" = ${electionId}::uuid AND d.kind NOT IN ('declined', 'withdrawn') AND NOT EXISTS (
        SELECT 1 FROM "Seating" g WHERE g."seatId" = o."seatId" AND g."pollWorkerId" = o."pollWorkerId" AND o.shift = ${PART}
          AND g."rosterId" IN (${rosters.published}::uuid, ${rosters.newest}::uuid))
      ORDER BY o.id LIMIT ${most}`
  ).map((r) => r.id)

export interface OfferStanding {
  id: string
  seatId: string
  pollWorkerId: string
  placeId: string
  state: OfferState
  answerBy: CivilDate
  /** When the event that decides happened. */
  since: Date
  reason: string | null
  events: number
  calls: number
  letterReturned: boolean
  channel: 'mail' | 'letter'
}

/** How each offer of an election (or one alone) stands on a day, without reading all events into memory. The state is
 *  the core's; a test compares this reading with `offerStatus`. */
export async function listStandings(
  tx: Tx,
  electionId: string,
  today: CivilDate,
  offerId?: string,
): Promise<OfferStanding[]> {
  const rows = await tx.$queryRaw<
    (Omit<OfferStanding, 'state'> & { decisive: DecisiveKind; placeId: string })[]
  >`
    SELECT o.id, o."seatId", o."pollWorkerId", s."pollingPlaceId" AS "placeId", d.kind::text AS decisive, d.at AS since,
      d.reason, b."answerBy", c.events, c.calls, c.returned AS "letterReturned", f.via::text AS channel
    FROM "Offer" o JOIN "Seat" s ON s.id = o."seatId"
    JOIN ${DECIDING} d ON true
    JOIN LATERAL (SELECT e."answerBy" FROM "OfferEvent" e WHERE e."offerId" = o.id AND e."answerBy" IS NOT NULL
      ORDER BY e.sequence DESC LIMIT 1) b ON true
    JOIN LATERAL (SELECT e.sequence, e.via FROM "OfferEvent" e WHERE e."offerId" = o.id AND e.kind = 'offered'
      ORDER BY e.sequence DESC LIMIT 1) f ON true
    JOIN LATERAL (SELECT count(*)::int AS events,
        count(*) FILTER (WHERE e.kind = 'called' AND e.sequence > f.sequence)::int AS calls,
        coalesce(bool_or(e.kind = 'returned' AND e.sequence > f.sequence), false) AS returned
      FROM "OfferEvent" e WHERE e."offerId" = o.id) c ON true
    WHERE o."electionId" = ${electionId}::uuid
      ${offerId ? Prisma.sql`AND o.id = ${offerId}::uuid` : Prisma.empty}`
  return rows.map(({ decisive, ...row }) => ({
    ...row,
    state: stateAfter(decisive, row.answerBy, today),
  }))
}

/** People who haven't answered and whose deadline is at most so many days away, not yet over. */
export async function listNearDeadline(
  tx: Tx,
  electionId: string,
  today: CivilDate,
  days: number,
): Promise<{ pollWorkerId: string; answerBy: string; offerIds: string[] }[]> {
  const last = addDays(today, days)
  const near = (await listStandings(tx, electionId, today)).filter(
    (o) => o.state === 'open' && o.answerBy <= last,
  )
  const own = new Map<string, { pollWorkerId: string; answerBy: string; offerIds: string[] }>()
  for (const { id, pollWorkerId, answerBy } of near) {
    const key = `${pollWorkerId} ${answerBy}`
    own.set(key, { pollWorkerId, answerBy, offerIds: [...(own.get(key)?.offerIds ?? []), id] })
  }
  return [...own.values()]
}
