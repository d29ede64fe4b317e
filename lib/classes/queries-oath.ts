import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { Prisma } from '@/prisma/client/client'
import { OATH } from './commands-oath'

export const OATH_PAGE = 60

export interface OathRow {
  workerId: string
  name: string
  countyRef: string
  /** Has a seat in the newest roster of the election. */
  seated: boolean
  oath: { factId: string; on: CivilDate; administeredBy: string | null } | null
}

export interface OathView {
  county: { id: string; name: string }
  today: CivilDate
  elections: { id: string; name: string; heldOn: CivilDate }[]
  election: { id: string; name: string; heldOn: CivilDate } | null
  rows: OathRow[]
  more: boolean
  /** Seated people, and how many of them have sworn. */
  seated: number
  sworn: number
}

/** Who has sworn the oath for an election, those with a seat first: the next election where none is named.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function getOathView(
  actor: Actor,
  countyId: string,
  ask: { electionId?: string; search: string; page: number },
): Promise<OathView> {
  assertCan(actor, 'recordOath', countyId)
  const county = await db().county.findUnique({ where: { id: countyId } })
  if (!county) throw new AppError('NOT_FOUND', { userMessage: 'There is no such county.' })
  const today = civilDateAt(systemClock.now(), county.timeZone)
  const elections = (
    await db().election.findMany({
      where: { countyId },
      orderBy: { heldOn: 'desc' },
      select: { id: true, name: true, heldOn: true },
    })
  ).map((e) => ({ ...e, heldOn: e.heldOn as CivilDate }))
  const election =
    elections.find((e) => e.id === ask.electionId) ??
    elections.filter((e) => e.heldOn >= today).at(-1) ??
    elections[0] ??
    null
  const empty = { county: { id: county.id, name: county.name }, today, elections, election }
  if (!election) return { ...empty, rows: [], more: false, seated: 0, sworn: 0 }
  const likeText = (text: string) => `${text.replace(/[\\%_]/g, (c) => `\\${c}`)}%`
  const words = ask.search.trim().split(/\s+/).filter(Boolean).slice(0, 4).map(likeText)
  const fits = words.map(
    (word) =>
      Prisma.sql`AND (w."familyName" ILIKE ${word} OR w."givenName" ILIKE ${word} OR w."countyRef" ILIKE ${word})`,
  )
  const people = Prisma.sql`
    SELECT w.id AS "workerId", w."familyName" || ', ' || w."givenName" AS name, w."countyRef",
      EXISTS (SELECT 1 FROM "Seating" s WHERE s."pollWorkerId" = w.id AND s."rosterId" =
        (SELECT r.id FROM "Roster" r WHERE r."electionId" = ${election.id}::uuid ORDER BY r.version DESC LIMIT 1)) AS seated,
      o.id AS "factId", o."happenedOn" AS "swornOn", o."witnessedBy" AS "administeredBy"
    FROM "PollWorker" w
    LEFT JOIN LATERAL (SELECT f.id, f."happenedOn", f."witnessedBy" FROM "Fact" f
      WHERE (f."pollWorkerId" = w.id OR f."pollWorkerId" IN (SELECT m.id FROM "PollWorker" m WHERE m."mergedIntoId" = w.id))
        AND f.kind = 'oathSworn' AND f.topic = ${OATH} AND f."electionId" = ${election.id}::uuid
        AND NOT EXISTS (SELECT 1 FROM "Fact" x WHERE x."revokesFactId" = f.id)
      ORDER BY f."recordedAt" LIMIT 1) o ON true
    WHERE w."countyId" = ${countyId} AND w.active`
  const [rows, [figures]] = await Promise.all([
    db().$queryRaw<
      (Omit<OathRow, 'oath'> & { factId: string | null; swornOn: string; administeredBy: string | null })[]
    >`
      ${people} ${fits.length > 0 ? Prisma.join(fits, ' ') : Prisma.empty}
      ORDER BY seated DESC, (o.id IS NOT NULL), w."familyName", w."givenName", w.id
      LIMIT ${OATH_PAGE + 1} OFFSET ${ask.page * OATH_PAGE}`,
    db().$queryRaw<{ seated: number; sworn: number }[]>`
      SELECT count(*) FILTER (WHERE p.seated)::int AS seated,
        count(*) FILTER (WHERE p.seated AND p."factId" IS NOT NULL)::int AS sworn FROM (${people}) p`,
  ])
  return {
    ...empty,
    ...figures!,
    more: rows.length > OATH_PAGE,
    rows: rows.slice(0, OATH_PAGE).map(({ factId, swornOn, administeredBy, ...row }) => ({
      ...row,
      oath: factId ? { factId, on: swornOn as CivilDate, administeredBy } : null,
    })),
  }
}
