import type { Actor } from '@/lib/auth/actor'
import { assertCan, can, countiesWith } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { addDays, type CivilDate, civilDateAt, daysBetween } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { filledSeats } from './facts-filled'

export interface ElectionSummary {
  id: string
  name: string
  kind: string
  heldOn: CivilDate
  /** Negative: it was held that many days ago. */
  daysToGo: number
}

export interface PositionFigures {
  id: string
  key: string
  name: string
  certificateKey: string
  seats: number
  filled: number
  /** People whom the seats of election day need at the same time: early days may be worked by the same people. */
  neededAtOnce: number
  /** Active people who hold this position's certificate on election day. One person may count for several. */
  certified: number
}

export interface CountyReadiness {
  id: string
  name: string
  today: CivilDate
  next: ElectionSummary | null
  roster: { version: number; publishedAt: Date | null } | null
  positions: PositionFigures[]
  seats: number
  filled: number
  /** Seats of each position for which there are certified people enough, added up. */
  certifiedSeats: number
}

const noCounty = () =>
  new AppError('NOT_FOUND', { userMessage: 'There is no such page, or it belongs to another county.' })

/** A county that the actor may see in the office. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getOfficeCounty(actor: Actor, countyId: string) {
  const county = await db().county.findUnique({ where: { id: countyId } })
  if (!county) throw noCounty()
  assertCan(actor, 'readPeople', countyId)
  const today = civilDateAt(systemClock.now(), county.timeZone)
  return {
    id: county.id,
    name: county.name,
    timeZone: county.timeZone,
    today,
    mayReadRoster: can(actor, 'readRoster', countyId),
    mayChangeRoster: can(actor, 'changeRoster', countyId),
  }
}

const summaryOf = (
  election: { id: string; name: string; kind: string; heldOn: string },
  today: CivilDate,
): ElectionSummary => ({
  id: election.id,
  name: election.name,
  kind: election.kind,
  heldOn: election.heldOn as CivilDate,
  daysToGo: daysBetween(today, election.heldOn as CivilDate),
})

/** All elections of a county, the next one first, then the later, then the past. */
export async function listElections(actor: Actor, countyId: string): Promise<ElectionSummary[]> {
  const { today } = await getOfficeCounty(actor, countyId)
  const rows = await db().election.findMany({ where: { countyId }, orderBy: { heldOn: 'asc' } })
  const all = rows.map((row) => summaryOf(row, today))
  return [...all.filter((e) => e.daysToGo >= 0), ...all.filter((e) => e.daysToGo < 0).reverse()]
}

/** Seats, filled and not, and certified people of each position, in order of rank. Three grouped reads. */
export async function positionFigures(
  countyId: string,
  election: { id: string; heldOn: string } | null,
  rosterId: string | null,
): Promise<PositionFigures[]> {
  const on = election?.heldOn ?? ''
  const [positions, certified] = await Promise.all([
    db().$queryRaw<Omit<PositionFigures, 'certified'>[]>`
      SELECT p.id, p.key, p."nameEn" AS name, p."certificateKey", count(s.id)::int AS seats, count(g.id)::int AS filled,
        greatest(
          count(s.id) FILTER (WHERE s."servesOn" = ${on} AND s.shift <> 'afternoon'),
          count(s.id) FILTER (WHERE s."servesOn" = ${on} AND s.shift <> 'morning'))::int AS "neededAtOnce"
      FROM "Position" p
      LEFT JOIN "Seat" s ON s."positionId" = p.id AND s."electionId" = ${election?.id ?? null}::uuid
      LEFT JOIN ${filledSeats(rosterId)} g ON g.id = s.id
      WHERE p."countyId" = ${countyId} GROUP BY p.id ORDER BY p.rank, p.key`,
    // A person's spans of one certificate don't overlap: each row is another person.
    db().$queryRaw<{ key: string; people: number }[]>`
      SELECT c."certificateKey" AS key, count(*)::int AS people
      FROM "CertificateSpan" c JOIN "PollWorker" w ON w.id = c."pollWorkerId" AND w.active
      WHERE c."countyId" = ${countyId} AND c."validFrom" <= ${on} AND (c."validUntil" IS NULL OR c."validUntil" > ${on})
      GROUP BY 1`,
  ])
  const people = new Map(certified.map((row) => [row.key, row.people]))
  return positions.map((p) => ({ ...p, certified: people.get(p.certificateKey) ?? 0 }))
}

export interface EndingBefore {
  people: number
  /** The last day of the one that ends last; null where there is none. */
  lastOn: CivilDate | null
}

/** Active people who are certified today or later for a position of an election, but for none of them on its day any
 *  more. Whoever shows it has authorised. */
export async function countEndingBefore(election: {
  id: string
  countyId: string
  heldOn: CivilDate
  today: CivilDate
}): Promise<EndingBefore> {
  const { id, countyId, heldOn, today } = election
  const [found] = await db().$queryRaw<{ people: number; until: CivilDate | null }[]>`
    SELECT count(*)::int AS people, max(until) AS until FROM (
      SELECT max(c."validUntil") AS until,
        bool_or(c."validFrom" <= ${heldOn} AND (c."validUntil" IS NULL OR c."validUntil" > ${heldOn})) AS then
      FROM "CertificateSpan" c JOIN "PollWorker" w ON w.id = c."pollWorkerId" AND w.active
      WHERE c."countyId" = ${countyId} AND (c."validUntil" IS NULL OR c."validUntil" > ${today})
        AND c."certificateKey" IN (SELECT p."certificateKey" FROM "Seat" s JOIN "Position" p ON p.id = s."positionId"
          WHERE s."electionId" = ${id}::uuid)
      GROUP BY c."pollWorkerId") h
    WHERE NOT h.then`
  return { people: found!.people, lastOn: found!.until && addDays(found!.until, -1) }
}

/** How ready a county is for its next election. */
async function readinessOf(county: { id: string; name: string; timeZone: string }): Promise<CountyReadiness> {
  const today = civilDateAt(systemClock.now(), county.timeZone)
  const election = await db().election.findFirst({
    where: { countyId: county.id, heldOn: { gte: today } },
    orderBy: { heldOn: 'asc' },
  })
  const roster = election
    ? await db().roster.findFirst({ where: { electionId: election.id }, orderBy: { version: 'desc' } })
    : null
  const positions = await positionFigures(county.id, election, roster?.id ?? null)
  const sum = (of: (p: PositionFigures) => number) => positions.reduce((total, p) => total + of(p), 0)
  return {
    id: county.id,
    name: county.name,
    today,
    next: election ? summaryOf(election, today) : null,
    roster: roster ? { version: roster.version, publishedAt: roster.publishedAt } : null,
    positions,
    seats: sum((p) => p.seats),
    filled: sum((p) => p.filled),
    certifiedSeats: sum((p) => Math.min(p.seats, p.certified)),
  }
}

/** The counties whose rosters the actor may read, each with its readiness; all of them for the state office. */
export async function listOfficeCounties(actor: Actor): Promise<CountyReadiness[]> {
  const scope = countiesWith(actor, 'readRoster')
  const counties = await db().county.findMany({
    where: scope === 'all' ? {} : { id: { in: scope } },
    select: { id: true, name: true, timeZone: true },
    orderBy: { name: 'asc' },
  })
  return Promise.all(counties.map(readinessOf))
}

export async function getCountyReadiness(actor: Actor, countyId: string): Promise<CountyReadiness> {
  const county = await db().county.findUnique({
    where: { id: countyId },
    select: { id: true, name: true, timeZone: true },
  })
  if (!county) throw noCounty()
  assertCan(actor, 'readRoster', countyId)
  return readinessOf(county)
}

export interface CertifiedOverview {
  active: number
  /** Hold at least one certificate today / on the next election day. */
  certifiedToday: number
  certifiedOnElectionDay: number
  /** Hold one today that ends before election day. */
  lapsing: number
}

export async function getCertifiedOverview(
  actor: Actor,
  countyId: string,
  today: CivilDate,
  heldOn: CivilDate | null,
): Promise<CertifiedOverview> {
  assertCan(actor, 'readPeople', countyId)
  const on = heldOn ?? today
  const [row] = await db().$queryRaw<CertifiedOverview[]>`
    WITH held AS (
      SELECT c."pollWorkerId" AS id,
        bool_or(c."validFrom" <= ${today} AND (c."validUntil" IS NULL OR c."validUntil" > ${today})) AS now,
        bool_or(c."validFrom" <= ${on} AND (c."validUntil" IS NULL OR c."validUntil" > ${on})) AS then
      FROM "CertificateSpan" c WHERE c."countyId" = ${countyId} GROUP BY 1)
    SELECT count(*)::int AS active,
      count(*) FILTER (WHERE h.now)::int AS "certifiedToday",
      count(*) FILTER (WHERE h.then)::int AS "certifiedOnElectionDay",
      count(*) FILTER (WHERE h.now AND NOT h.then)::int AS lapsing
    FROM "PollWorker" w LEFT JOIN held h ON h.id = w.id
    WHERE w."countyId" = ${countyId} AND w.active`
  return row!
}

/** What a county has of the ground that a roster stands on. */
export interface CountyGround {
  positions: number
  /** Positions whose certificate nobody can hold, for want of a rule. */
  unruled: number
  places: number
  /** Places without hours on election day (sites that open early only are left out). */
  withoutHours: number
  people: number
  /** Hold a certificate on the next election day, else today. */
  certified: number
  crewRules: number
  /** Of the next election. */
  seats: number
}

/** How far a county is set up, in figures. One read. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getCountyGround(
  actor: Actor,
  countyId: string,
  next: { id: string; heldOn: string } | null,
): Promise<CountyGround> {
  const { today } = await getOfficeCounty(actor, countyId)
  const on = next?.heldOn ?? today
  const [row] = await db().$queryRaw<CountyGround[]>`
    SELECT
      (SELECT count(*) FROM "Position" WHERE "countyId" = c.id)::int AS positions,
      (SELECT count(*) FROM "Position" p WHERE p."countyId" = c.id AND NOT EXISTS (
        SELECT 1 FROM "RuleSet" r WHERE r."countyId" = c.id AND r."certificateKey" = p."certificateKey"))::int AS unruled,
      (SELECT count(*) FROM "PollingPlace" WHERE "countyId" = c.id)::int AS places,
      (SELECT count(*) FROM "PollingPlace" p WHERE p."countyId" = c.id AND p.kind <> 'earlyVotingSite' AND NOT EXISTS (
        SELECT 1 FROM "Opening" o WHERE o."pollingPlaceId" = p.id AND o."firstOn" IS NULL))::int AS "withoutHours",
      (SELECT count(*) FROM "PollWorker" WHERE "countyId" = c.id AND active)::int AS people,
      (SELECT count(DISTINCT s."pollWorkerId") FROM "CertificateSpan" s WHERE s."countyId" = c.id
        AND s."validFrom" <= ${on} AND (s."validUntil" IS NULL OR s."validUntil" > ${on}))::int AS certified,
      (SELECT count(*) FROM "CrewRules" WHERE "countyId" = c.id)::int AS "crewRules",
      (SELECT count(*) FROM "Seat" WHERE "electionId" = ${next?.id ?? null}::uuid)::int AS seats
    FROM "County" c WHERE c.id = ${countyId}`
  return row!
}
