import type { Tx } from '@/lib/db/client'
import { kmSql } from '@/lib/db/distance-sql'
import { type DayPart, halvesOf } from '@/lib/kernel/day-parts'
import { Prisma } from '@/prisma/client/client'
import { keptFrom, listDeclined, rulesOf } from './facts'

/** A spot: a seat and the part of its day that is asked about. */
export interface HalfOfDay {
  seatId: string
  part: DayPart
  servesOn: string
}

/** People for one seat, sifted in the database: how many are left after each question, and the few to show. */
export interface Sifted {
  /** Active and certified for it on its day. */
  holders: number
  /** Of these: kept from it by nothing. */
  available: number
  /** Of these: near enough for them. */
  near: number
  /** Of these: without another seat at that time. */
  free: number
  /** Those near enough who don't sit in this very seat, and the ids of `PICKS` of them: without another seat first, then the nearest. */
  others: number
  picks: string[]
  /** Ids of those of them who sit elsewhere, unlocked: the nearest `SWAPPERS`. */
  seated: string[]
}

const PICKS = 40
const SWAPPERS = 120

/** Whom to look at for a seat. The rules themselves (core/eligibility.ts) then judge the few that come back.
 *  `hideProtected`: people with a protected address come last, by name: their rank by distance would tell where they
 *  live. */
export async function siftPeople(
  tx: Tx,
  countyId: string,
  rosterId: string | null,
  seat: HalfOfDay & { place: { id: string; lat: number; lon: number }; certificateKey: string },
  hideProtected: boolean,
): Promise<Sifted> {
  const rules = await rulesOf(tx, countyId)
  const declined = await listDeclined(tx, { countyId }, [seat.servesOn])
  const saidNo = declined
    .filter((no) => no.placeId === null || no.placeId === seat.place.id)
    .map((no) => no.personId)
  const { morningOn, afternoonOn } = halvesOf(seat.part, seat.servesOn)
  const km = kmSql(
    { lat: Prisma.sql`w."homeLat"`, lon: Prisma.sql`w."homeLon"` },
    { lat: Prisma.sql`${seat.place.lat}::float8`, lon: Prisma.sql`${seat.place.lon}::float8` },
  )
  const hidden = hideProtected ? Prisma.sql`w."confidentialAddress"` : Prisma.sql`false`
  const order = Prisma.sql`hidden, CASE WHEN hidden THEN NULL ELSE km END, name, id`
  const [row] = await tx.$queryRaw<Sifted[]>`
    WITH busy AS MATERIALIZED (
      SELECT "pollWorkerId" AS id, bool_or(locked) AS locked FROM "Seating"
      WHERE "rosterId" = ${rosterId}::uuid AND "seatId" <> ${seat.seatId}::uuid
        AND ("morningOn" = ${morningOn} OR "afternoonOn" = ${afternoonOn}) GROUP BY 1),
    holder AS MATERIALIZED (
      SELECT w.id, w."givenName" || ' ' || w."familyName" AS name, ${hidden} AS hidden, ${km} AS km,
        w."maxTravelKm" AS reach, b.id IS NOT NULL AS busy, coalesce(b.locked, false) AS locked,
        NOT ${keptFrom(rules, Prisma.sql`${seat.part}::text`)} AND w.id <> ALL(${saidNo}::uuid[]) AS available
      FROM "PollWorker" w CROSS JOIN (SELECT * FROM "Seat" WHERE id = ${seat.seatId}::uuid) s LEFT JOIN busy b ON b.id = w.id
      WHERE w."countyId" = ${countyId} AND w.active AND w.id IN (
        SELECT c."pollWorkerId" FROM "CertificateSpan" c
        WHERE c."countyId" = ${countyId} AND c."certificateKey" = ${seat.certificateKey}
          AND c."validFrom" <= ${seat.servesOn} AND (c."validUntil" IS NULL OR c."validUntil" > ${seat.servesOn}))),
    near AS MATERIALIZED (
      SELECT *, id IN (SELECT "pollWorkerId" FROM "Seating"
          WHERE "rosterId" = ${rosterId}::uuid AND "seatId" = ${seat.seatId}::uuid
            AND ("morningOn" = ${morningOn} OR "afternoonOn" = ${afternoonOn})) AS here FROM holder
      WHERE available AND (reach IS NULL OR km IS NULL OR round((km * 1000)::numeric) <= reach * 1000))
    SELECT (SELECT count(*)::int FROM holder) AS holders,
      (SELECT count(*)::int FROM holder WHERE available) AS available,
      (SELECT count(*)::int FROM near) AS near,
      (SELECT count(*)::int FROM near WHERE NOT busy) AS free,
      (SELECT count(*)::int FROM near WHERE NOT here) AS others,
      ARRAY(SELECT id::text FROM near WHERE NOT here ORDER BY busy, ${order} LIMIT ${PICKS}) AS picks,
      ARRAY(SELECT id::text FROM near WHERE NOT here AND busy AND NOT locked ORDER BY ${order} LIMIT ${SWAPPERS}) AS seated`
  return row!
}
