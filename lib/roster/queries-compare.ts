import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { Prisma } from '@/prisma/client/client'
import { type ElectionHead, getElectionHead } from './queries'
import { seatText } from './queries-move'
import type { HalfOrFull } from './schema'
import { spotId } from './spot'

/** Two rosters side by side: the newest one against a published version, or against the roster before the last run. */

export const COMPARE_PAGE = 100

export interface ComparedSeat {
  /** Of the spot: a seat, or one half of a shared one. */
  seatId: string
  placeId: string
  text: string
  before: { id: string; name: string } | null
  after: { id: string; name: string } | null
}

export interface Comparison {
  head: ElectionHead
  /** What it can be compared with, the likeliest first. */
  choices: { key: string; name: string }[]
  against: { key: string; name: string } | null
  figures: { filled: number; emptied: number; changed: number; same: number }
  /** Straight-line travel of everybody, one way, added up, where homes are known and not protected (the
   *  difference that one person makes would tell where they live). */
  travelKm: { before: number; after: number }
  seats: ComparedSeat[]
  page: number
  pages: number
}

/** `with`: 'run' or the number of a published version. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getComparison(
  actor: Actor,
  countyId: string,
  electionId: string,
  asked: { with?: string; page?: number; all?: boolean },
): Promise<Comparison> {
  const head = await getElectionHead(actor, countyId, electionId)
  const rosterId = head.roster?.id ?? null
  const [published, run] = await Promise.all([
    db().roster.findMany({
      where: { electionId, publishedAt: { not: null }, ...(rosterId ? { id: { not: rosterId } } : {}) },
      orderBy: { version: 'desc' },
      select: { id: true, version: true },
    }),
    db().rosterRun.findFirst({
      where: { electionId, status: 'done', fromRevision: { not: null } },
      orderBy: [{ finishedAt: 'desc' }, { id: 'desc' }],
      select: { id: true },
    }),
  ])
  const choices = [
    ...published.map((r, i) => ({
      key: String(r.version),
      name: `version ${r.version}, ${i === 0 ? 'the last one published' : 'published'}`,
    })),
    ...(run ? [{ key: 'run', name: 'the roster before the last run' }] : []),
  ]
  const against = choices.find((c) => c.key === asked.with) ?? choices[0] ?? null
  const none = {
    head,
    choices,
    against,
    figures: { filled: 0, emptied: 0, changed: 0, same: 0 },
    travelKm: { before: 0, after: 0 },
    seats: [],
    page: 1,
    pages: 1,
  }
  if (!against || !rosterId) return none
  const before =
    against.key === 'run'
      ? Prisma.sql`SELECT "seatId", "pollWorkerId", shift AS part FROM "SeatingBefore" WHERE "runId" = ${run!.id}::uuid`
      : Prisma.sql`SELECT "seatId", "pollWorkerId", ${PART} AS part FROM "Seating" WHERE "rosterId" = ${published.find((r) => String(r.version) === against.key)!.id}::uuid`
  const now = Prisma.sql`SELECT "seatId", "pollWorkerId", ${PART} AS part FROM "Seating" WHERE "rosterId" = ${rosterId}::uuid`
  const [[figures], [travel]] = await Promise.all([
    db().$queryRaw<Comparison['figures'][]>`
      SELECT count(*) FILTER (WHERE b."seatId" IS NULL)::int AS filled,
        count(*) FILTER (WHERE n."seatId" IS NULL)::int AS emptied,
        count(*) FILTER (WHERE b."pollWorkerId" <> n."pollWorkerId")::int AS changed,
        count(*) FILTER (WHERE b."pollWorkerId" = n."pollWorkerId")::int AS same
      FROM (${before}) b FULL JOIN (${now}) n ON n."seatId" = b."seatId" AND n.part = b.part`,
    db().$queryRaw<{ before: number; after: number }[]>`
      SELECT ${kilometres(before)} AS before, ${kilometres(now)} AS after`,
  ])
  const differing = figures!.filled + figures!.emptied + figures!.changed
  const pages = Math.max(1, Math.ceil(differing / COMPARE_PAGE))
  const page = Math.min(pages, Math.max(1, asked.page ?? 1))
  const rows = await db().$queryRaw<ComparedRow[]>`
    SELECT s.id, s.number, s.shift, s."servesOn", coalesce(b.part, n.part) AS part, p."nameEn" AS position, l.id AS "placeId", l.code, l.name,
      b."pollWorkerId" AS "beforeId", n."pollWorkerId" AS "afterId",
      wb."givenName" || ' ' || wb."familyName" AS "beforeName", wn."givenName" || ' ' || wn."familyName" AS "afterName"
    FROM (${before}) b FULL JOIN (${now}) n ON n."seatId" = b."seatId" AND n.part = b.part
    JOIN "Seat" s ON s.id = coalesce(b."seatId", n."seatId")
    JOIN "Position" p ON p.id = s."positionId"
    JOIN "PollingPlace" l ON l.id = s."pollingPlaceId"
    LEFT JOIN "PollWorker" wb ON wb.id = b."pollWorkerId"
    LEFT JOIN "PollWorker" wn ON wn.id = n."pollWorkerId"
    WHERE b."pollWorkerId" IS DISTINCT FROM n."pollWorkerId"
    ORDER BY l.code, s."servesOn", p.rank, s.number, s.shift DESC, part DESC
    ${asked.all ? Prisma.empty : Prisma.sql`LIMIT ${COMPARE_PAGE} OFFSET ${(page - 1) * COMPARE_PAGE}`}`
  return {
    ...none,
    figures: figures!,
    travelKm: { before: travel!.before, after: travel!.after },
    seats: rows.map((row) => ({
      seatId: spotId(row, row.part),
      placeId: row.placeId,
      text: seatText(
        {
          number: row.number,
          shift: row.shift,
          servesOn: row.servesOn,
          position: { nameEn: row.position },
          pollingPlace: { code: row.code, name: row.name },
        },
        head.heldOn,
        row.part,
      ),
      before: row.beforeId ? { id: row.beforeId, name: row.beforeName ?? '' } : null,
      after: row.afterId ? { id: row.afterId, name: row.afterName ?? '' } : null,
    })),
    page,
    pages,
  }
}

interface ComparedRow {
  id: string
  number: number
  shift: string
  servesOn: string
  part: HalfOrFull
  position: string
  placeId: string
  code: string
  name: string
  beforeId: string | null
  afterId: string | null
  beforeName: string | null
  afterName: string | null
}

/** Which part of the day a row of "Seating" takes. */
const PART = Prisma.sql`CASE WHEN "afternoonOn" IS NULL THEN 'morning' WHEN "morningOn" IS NULL THEN 'afternoon' ELSE 'full' END`

/** Great-circle kilometres of a set of seatings, on a sphere of 6371.0088 km (the haversine form): for one figure of a
 *  whole county; the optimiser itself measures on the ellipsoid. */
const kilometres = (seatings: Prisma.Sql) => Prisma.sql`(
  SELECT coalesce(sum(2 * 6371.0088 * asin(least(1, sqrt(
    power(sin(radians(l.lat - w."homeLat") / 2), 2)
    + cos(radians(w."homeLat")) * cos(radians(l.lat)) * power(sin(radians(l.lon - w."homeLon") / 2), 2))))), 0)::float
  FROM (${seatings}) g JOIN "Seat" s ON s.id = g."seatId" JOIN "PollingPlace" l ON l.id = s."pollingPlaceId"
  JOIN "PollWorker" w ON w.id = g."pollWorkerId" AND NOT w."confidentialAddress"
    AND w."homeLat" IS NOT NULL AND w."homeLon" IS NOT NULL)`
