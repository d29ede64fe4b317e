import { db, type Tx } from '@/lib/db/client'
import type { CivilDate } from '@/lib/kernel/dates'
import { dayPartOf, partIn } from '@/lib/kernel/day-parts'
import { AppError } from '@/lib/kernel/errors'
import { type ServiceRules, serviceRulesOf } from '@/lib/people/service-rules'
import { Prisma } from '@/prisma/client/client'
import { countyRosterRulesOf } from './county-rules'
import { listPairs } from './facts-pairs'
import {
  buildInstance,
  type ExclusionFacts,
  type PersonFacts,
  type SeatedFacts,
  type SeatFacts,
  type SpanFacts,
} from './instance'
import type { RosterInstance } from './schema'
import { spotId } from './spot'

/** Which state of a roster somebody has seen: two people never overwrite each other unseen. */
export interface RosterMark {
  rosterId: string | null
  revision: number
}

/** As a form carries it: `none:0` before there is any roster. */
export const markText = (mark: RosterMark): string => `${mark.rosterId ?? 'none'}:${mark.revision}`

export const latestRoster = (tx: Tx, electionId: string) =>
  tx.roster.findFirst({ where: { electionId }, orderBy: { version: 'desc' } })

const personColumns = {
  id: true,
  homeLat: true,
  homeLon: true,
  languages: true,
  electionsServed: true,
  maxTravelKm: true,
  unavailableOn: true,
  offersShift: true,
  active: true,
  student: true,
  livesOutside: true,
  homePrecinct: true,
  birthYear: true,
  party: true,
} as const

export async function listSeatFacts(tx: Tx, where: Prisma.SeatWhereInput): Promise<SeatFacts[]> {
  const rows = await tx.seat.findMany({
    where,
    select: {
      id: true,
      pollingPlaceId: true,
      servesOn: true,
      shift: true,
      legalMinimum: true,
      position: { select: { key: true, rank: true, certificateKey: true } },
    },
    orderBy: { id: 'asc' },
  })
  return rows.map((row) => ({
    id: row.id,
    placeId: row.pollingPlaceId,
    positionKey: row.position.key,
    positionRank: row.position.rank,
    certificateKey: row.position.certificateKey,
    servesOn: row.servesOn as CivilDate,
    shift: dayPartOf(row.shift),
    legalMinimum: row.legalMinimum,
  }))
}

export const listPersonFacts = (tx: Tx, where: Prisma.PollWorkerWhereInput): Promise<PersonFacts[]> =>
  tx.pollWorker.findMany({ where, select: personColumns, orderBy: { id: 'asc' } })

/** Where places are, and the precincts of those that serve some; vote centers and early-voting sites serve everybody. */
async function listPlaceFacts(tx: Tx, where: Prisma.PollingPlaceWhereInput) {
  const rows = await tx.pollingPlace.findMany({
    where,
    select: { id: true, lat: true, lon: true, kind: true, precincts: { select: { code: true } } },
  })
  return rows.map(({ kind, precincts, ...place }) => ({
    ...place,
    precincts:
      kind === 'pollingPlace' && precincts.length > 0
        ? precincts.map(({ code }) => code.trim().toLowerCase())
        : null,
  }))
}

type WhoseFacts = { countyId: string } | { pollWorkerId: { in: string[] } }

const listExclusionFacts = async (
  tx: Tx,
  where: WhoseFacts,
  dates: readonly string[],
): Promise<ExclusionFacts[]> =>
  dates.length === 0
    ? []
    : [
        ...(
          await tx.exclusion.findMany({
            where: {
              ...where,
              takenBackAt: null,
              firstOn: { lte: dates.at(-1)! },
              OR: [{ lastOn: null }, { lastOn: { gte: dates[0]! } }],
            },
            select: { pollWorkerId: true, pollingPlaceId: true, firstOn: true, lastOn: true },
          })
        ).map(({ pollWorkerId, pollingPlaceId, ...days }) => ({
          personId: pollWorkerId,
          placeId: pollingPlaceId,
          ...days,
        })),
        ...(await listDeclined(tx, where, dates)),
      ]

/** Reasons of a no that are about the place or the work there; any other one is about the day. */
const ABOUT_THE_PLACE = ['far', 'position']

/** Who said no to a seat isn't asked for that place again, or (away, tired of it) for that day, until the office takes
 *  the no back. */
export async function listDeclined(
  tx: Tx,
  where: WhoseFacts,
  dates: readonly string[],
): Promise<ExclusionFacts[]> {
  const rows = await tx.offer.findMany({
    where: {
      ...where,
      seat: { servesOn: { in: [...new Set(dates)] } },
      events: { some: { kind: 'declined' } },
    },
    select: {
      pollWorkerId: true,
      seat: { select: { pollingPlaceId: true, servesOn: true } },
      events: {
        where: { kind: { notIn: ['extended', 'called', 'returned'] } },
        orderBy: { sequence: 'desc' },
        take: 1,
        select: { kind: true, reason: true },
      },
    },
  })
  return rows
    .filter((row) => row.events[0]?.kind === 'declined')
    .map(({ pollWorkerId, seat, events }) => ({
      personId: pollWorkerId,
      placeId: ABOUT_THE_PLACE.includes(events[0]!.reason ?? '') ? seat.pollingPlaceId : null,
      firstOn: seat.servesOn,
      lastOn: seat.servesOn,
    }))
}

/** What a county has set, for `serviceRulesOf`, `countyRosterRulesOf`. @throws where there is no such county. */
export const settingsOf = async (tx: Tx, countyId: string) =>
  (await tx.county.findUniqueOrThrow({ where: { id: countyId }, select: { settings: true } })).settings

/** The county's own rules on students and residents. */
export const rulesOf = async (tx: Tx, countyId: string) => serviceRulesOf(await settingsOf(tx, countyId))

/** Where people sat in the county's last published rosters before a day, by their id. */
async function listLastPlaces(tx: Tx, countyId: string, before: string): Promise<Map<string, string>> {
  const rows = await tx.$queryRaw<{ personId: string; placeId: string }[]>`
    SELECT DISTINCT ON (g."pollWorkerId") g."pollWorkerId" AS "personId", s."pollingPlaceId" AS "placeId"
    FROM "Election" e
      JOIN LATERAL (SELECT id FROM "Roster" r WHERE r."electionId" = e.id AND r."publishedAt" IS NOT NULL
        ORDER BY r.version DESC LIMIT 1) r ON true
      JOIN "Seating" g ON g."rosterId" = r.id JOIN "Seat" s ON s.id = g."seatId"
    WHERE e."countyId" = ${countyId} AND e."heldOn" < ${before}
    ORDER BY g."pollWorkerId", e."heldOn" DESC, s."servesOn" DESC`
  return new Map(rows.map(({ personId, placeId }) => [personId, placeId]))
}

const spanFacts = (row: {
  pollWorkerId: string
  certificateKey: string
  validFrom: string
  validUntil: string | null
}): SpanFacts => ({
  personId: row.pollWorkerId,
  certificateKey: row.certificateKey,
  validFrom: row.validFrom as CivilDate,
  validUntil: row.validUntil as CivilDate | null,
})

export const listSpanFacts = async (tx: Tx, where: Prisma.CertificateSpanWhereInput): Promise<SpanFacts[]> =>
  (await tx.certificateSpan.findMany({ where })).map(spanFacts)

export const listSeated = async (tx: Tx, where: Prisma.SeatingWhereInput): Promise<SeatedFacts[]> =>
  (
    await tx.seating.findMany({
      where,
      select: { seatId: true, pollWorkerId: true, locked: true, morningOn: true, afternoonOn: true },
    })
  ).map((row) => ({
    seatId: row.seatId,
    personId: row.pollWorkerId,
    half: partIn(row),
    locked: row.locked,
  }))

export interface RosterGround {
  electionId: string
  countyId: string
  heldOn: CivilDate
  mark: RosterMark
  instance: RosterInstance
}

/** Everything that the optimiser needs of one election, read in one snapshot of the database. People who are locked
 *  into a seat are there even when they are no longer active. @throws AppError NOT_FOUND */
export async function loadRosterGround(electionId: string): Promise<RosterGround> {
  return db().$transaction(
    async (tx) => {
      const election = await tx.election.findUnique({ where: { id: electionId } })
      if (!election) throw new AppError('NOT_FOUND', { userMessage: 'There is no such election.' })
      const { countyId } = election
      const roster = await latestRoster(tx, electionId)
      const seats = await listSeatFacts(tx, { electionId })
      const seated = roster ? await listSeated(tx, { rosterId: roster.id }) : []
      const places = await listPlaceFacts(tx, { countyId })
      const people = await listPersonFacts(tx, {
        countyId,
        OR: [{ active: true }, ...(roster ? [{ seatings: { some: { rosterId: roster.id } } }] : [])],
      })
      const dates = seats.map((seat) => seat.servesOn).sort()
      // Only spans that touch the election's own days can matter.
      const spans =
        dates.length === 0
          ? []
          : await listSpanFacts(tx, {
              countyId,
              validFrom: { lte: dates.at(-1)! },
              OR: [{ validUntil: null }, { validUntil: { gt: dates[0]! } }],
            })
      const settings = await settingsOf(tx, countyId)
      const wishes = countyRosterRulesOf(settings)
      return {
        electionId,
        countyId,
        heldOn: election.heldOn as CivilDate,
        mark: { rosterId: roster?.id ?? null, revision: roster?.revision ?? 0 },
        instance: buildInstance({
          seats,
          places,
          people,
          exclusions: await listExclusionFacts(tx, { countyId }, dates),
          pairs: await listPairs(tx, countyId),
          rules: serviceRulesOf(settings),
          wishes,
          lastPlaces:
            wishes.returnMiles > 0 ? await listLastPlaces(tx, countyId, election.heldOn) : new Map(),
          spans,
          seated,
        }),
      }
    },
    { isolationLevel: Prisma.TransactionIsolationLevel.RepeatableRead, timeout: 60_000 },
  )
}

/** The same for a few seats and people, for checking one move at once: reads nothing else, whatever the county's size. */
export async function loadSmallGround(
  tx: Tx,
  seatIds: string[],
  personIds: string[],
): Promise<RosterInstance> {
  const seats = await listSeatFacts(tx, { id: { in: seatIds } })
  const dates = [...new Set(seats.map((seat) => seat.servesOn))].sort()
  const of = { pollWorkerId: { in: personIds } }
  const seat = await tx.seat.findFirst({ where: { id: { in: seatIds } }, select: { countyId: true } })
  // One after the other: a transaction has one connection.
  const places = await listPlaceFacts(tx, { id: { in: [...new Set(seats.map((s) => s.placeId))] } })
  const people = await listPersonFacts(tx, { id: { in: personIds } })
  const spans = await listSpanFacts(tx, {
    ...of,
    certificateKey: { in: [...new Set(seats.map((s) => s.certificateKey))] },
    OR: [{ validUntil: null }, { validUntil: { gt: dates[0] ?? '' } }],
  })
  const exclusions = await listExclusionFacts(tx, of, dates)
  const settings = seat ? await settingsOf(tx, seat.countyId) : {}
  // How many students a crew may have is asked of the crew, not of one person (facts-crews.ts).
  return buildInstance({
    seats,
    places,
    people,
    exclusions,
    // Pairs don't say whether one move is allowed: see facts-pairs.ts.
    pairs: [],
    rules: { ...serviceRulesOf(settings), studentsPerCrew: null },
    // Of what the county wishes of a roster only how far people travel says whether one move is allowed.
    wishes: { ...countyRosterRulesOf({}), mostMiles: countyRosterRulesOf(settings).mostMiles },
    lastPlaces: new Map(),
    spans,
    seated: [],
  })
}

/** Certificates aside, what keeps `"PollWorker" w` from taking a part of the day of `"Seat" s`: the conditions of core/eligibility.ts as
 *  SQL, for reading many at once. Never null. */
export const keptFrom = (rules: ServiceRules, part: Prisma.Sql) => Prisma.sql`(
  NOT w.active OR s."servesOn" = ANY(w."unavailableOn")
  OR (w."offersShift" <> 'full' AND w."offersShift" <> ${part})
  OR (w."livesOutside" AND ${rules.residents !== 'anyone'})
  OR (${rules.residents === 'precinct'} AND EXISTS (
      SELECT 1 FROM "Precinct" r JOIN "PollingPlace" q ON q.id = r."pollingPlaceId"
      WHERE r."pollingPlaceId" = s."pollingPlaceId" AND q.kind = 'pollingPlace')
    AND NOT EXISTS (
      SELECT 1 FROM "Precinct" r WHERE r."pollingPlaceId" = s."pollingPlaceId"
        AND lower(trim(r.code)) = lower(trim(w."homePrecinct"))))
  OR (w.student AND (${rules.students === 'no'}
    OR coalesce(substr(s."servesOn", 1, 4)::int - w."birthYear" < ${rules.studentsFromAge ?? 0}, false)))
  OR EXISTS (
    SELECT 1 FROM "Exclusion" e
    WHERE e."pollWorkerId" = w.id AND e."takenBackAt" IS NULL
      AND (e."pollingPlaceId" IS NULL OR e."pollingPlaceId" = s."pollingPlaceId")
      AND e."firstOn" <= s."servesOn" AND (e."lastOn" IS NULL OR e."lastOn" >= s."servesOn")))`

/** Which part of the day a row `g` of "Seating" takes. */
const PART_TAKEN = Prisma.sql`(CASE WHEN g."afternoonOn" IS NULL THEN 'morning' WHEN g."morningOn" IS NULL THEN 'afternoon' ELSE 'full' END)`

/** Spots whose person may no longer sit there: without the certificate on that day, away, excluded, barred by the
 *  county's rules, or no longer active. At one place, where it is given. */
export async function listMisplaced(
  tx: Tx,
  rosterId: string,
  placeId: string | null = null,
): Promise<string[]> {
  const roster = await tx.roster.findUniqueOrThrow({ where: { id: rosterId }, select: { countyId: true } })
  const rules = await rulesOf(tx, roster.countyId)
  const rows = await tx.$queryRaw<
    { seatId: string; shift: string; morningOn: string | null; afternoonOn: string | null }[]
  >`
    SELECT g."seatId", s.shift, g."morningOn", g."afternoonOn" FROM "Seating" g
    JOIN "Seat" s ON s.id = g."seatId" ${placeId ? Prisma.sql`AND s."pollingPlaceId" = ${placeId}::uuid` : Prisma.empty}
    JOIN "Position" p ON p.id = s."positionId"
    JOIN "PollWorker" w ON w.id = g."pollWorkerId"
    WHERE g."rosterId" = ${rosterId}::uuid AND (${keptFrom(rules, PART_TAKEN)}
      OR NOT EXISTS (
        SELECT 1 FROM "CertificateSpan" c
        WHERE c."pollWorkerId" = g."pollWorkerId" AND c."certificateKey" = p."certificateKey"
          AND c."validFrom" <= s."servesOn" AND (c."validUntil" IS NULL OR c."validUntil" > s."servesOn")))`
  return rows.map((row) => spotId({ id: row.seatId, shift: row.shift }, partIn(row)))
}
