import type { Tx } from '@/lib/db/client'
import { addDays, type CivilDate } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { sha256Hex } from '@/lib/kernel/hash'
import { Prisma } from '@/prisma/client/client'
import { loadCrewTemplates } from './content'
import { crewDifference, type HandChange, type PresentSeat, wantedSeats } from './core/crew-plan'
import { seatsFor } from './core/seats'
import { type CrewPlace, DemandProfile, RuleTable } from './schema'

export interface CountyCrewRules {
  /** 0: nothing published yet, this is the shipped template. */
  version: number
  citation: string
  publishedAt: Date | null
  ruleTable: RuleTable
  demand: DemandProfile
}

/** The newest published rules of a county, or the shipped template. */
export async function loadCrewRules(tx: Tx, countyId: string): Promise<CountyCrewRules> {
  const row = await tx.crewRules.findFirst({ where: { countyId }, orderBy: { version: 'desc' } })
  if (row)
    return {
      version: row.version,
      citation: row.citation,
      publishedAt: row.publishedAt,
      ruleTable: RuleTable.parse(row.ruleTable),
      demand: DemandProfile.parse(row.demand),
    }
  const [template] = loadCrewTemplates().values()
  const { ruleTable, demand } = template!
  return { version: 0, citation: ruleTable.citation, publishedAt: null, ruleTable, demand }
}

/** Early voting lies within this many days before election day (common practice: no state begins earlier). */
const EARLY_DAYS = 60

/** The days on which a place is open for an election: election day for all but early-voting sites; the days of its
 *  hours before that; and days on which it has seats already. */
function openDays(
  kind: string,
  heldOn: CivilDate,
  openings: readonly { firstOn: string | null; lastOn: string | null }[],
  seatDays: readonly string[],
): CrewPlace['openOn'] {
  const first = addDays(heldOn, -EARLY_DAYS)
  const early = new Set(seatDays.filter((on) => on < heldOn))
  for (const opening of openings)
    if (opening.firstOn !== null)
      for (
        let on = (opening.firstOn < first ? first : opening.firstOn) as CivilDate;
        on < heldOn && on <= (opening.lastOn ?? opening.firstOn);
        on = addDays(on, 1)
      )
        early.add(on)
  const openOnDay = kind !== 'earlyVotingSite' || openings.some((o) => o.firstOn === null)
  return [
    ...[...early].sort().map((on) => ({ on: on as CivilDate, phase: 'earlyVoting' as const })),
    ...(openOnDay ? [{ on: heldOn, phase: 'electionDay' as const }] : []),
  ]
}

/** What the rules give, what hands changed, what is there, and what has to be done, for one election; of one place,
 *  where it is given. @throws AppError NOT_FOUND */
export async function loadCrewPlan(tx: Tx, countyId: string, electionId: string, placeId?: string) {
  const election = /^[0-9a-f-]{36}$/.test(electionId)
    ? await tx.election.findUnique({ where: { id: electionId, countyId } })
    : null
  if (!election)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such election, or it belongs to another county.',
    })
  const heldOn = election.heldOn as CivilDate
  const rules = await loadCrewRules(tx, countyId)
  const positions = await tx.position.findMany({ where: { countyId }, orderBy: { rank: 'asc' } })
  const places = await tx.pollingPlace.findMany({
    where: { countyId, id: placeId },
    include: { precincts: { select: { id: true, registeredVoters: true } }, openings: true },
    orderBy: { code: 'asc' },
  })
  const changes = await tx.crewChange.findMany({ where: { electionId, pollingPlaceId: placeId } })
  const seats = await tx.$queryRaw<(Omit<PresentSeat, 'position'> & { positionId: string })[]>`
    SELECT s.id, s."pollingPlaceId" AS "placeId", s."positionId", s."servesOn" AS on, s.shift, s.number, s."legalMinimum",
      EXISTS (SELECT 1 FROM "Offer" o WHERE o."seatId" = s.id)
        OR EXISTS (SELECT 1 FROM "Seating" g JOIN "Roster" r ON r.id = g."rosterId"
          WHERE g."seatId" = s.id AND r."publishedAt" IS NOT NULL) AS fixed,
      EXISTS (SELECT 1 FROM "Seating" g WHERE g."seatId" = s.id) AS taken
    FROM "Seat" s WHERE s."electionId" = ${electionId}::uuid
      ${placeId ? Prisma.sql`AND s."pollingPlaceId" = ${placeId}::uuid` : Prisma.empty}`
  const positionKey = new Map(positions.map((p) => [p.id, p.key]))
  const present = seats.map(({ positionId, ...seat }) => ({
    ...seat,
    position: positionKey.get(positionId)!,
  }))
  const daysOf = new Map<string, Set<string>>()
  for (const seat of present) daysOf.set(seat.placeId, (daysOf.get(seat.placeId) ?? new Set()).add(seat.on))
  const known = new Set(positions.map((p) => p.key))
  const groups = places.flatMap((place) => {
    const openOn = openDays(place.kind, heldOn, place.openings, [...(daysOf.get(place.id) ?? [])])
    return openOn.length === 0
      ? []
      : seatsFor(rules.ruleTable, {
          id: place.id,
          kind: place.kind,
          precincts: place.precincts,
          openOn,
          electionKind: election.kind,
          features: place.features,
        })
  })
  const byHand: HandChange[] = changes.map((c) => ({
    placeId: c.pollingPlaceId,
    position: c.positionKey,
    on: c.servesOn as CivilDate,
    shift: c.shift,
    change: c.change,
  }))
  const wanted = wantedSeats(
    groups.filter((g) => known.has(g.position)),
    byHand.filter((c) => known.has(c.position)),
  )
  const unknownPositions = [...new Set(groups.map((g) => g.position))].filter((key) => !known.has(key))
  const difference = crewDifference(wanted, present)
  const token = sha256Hex(
    JSON.stringify([
      rules.version,
      difference.add,
      difference.remove.map((s) => [s.id, s.taken]),
      difference.mark,
    ]),
  ).slice(0, 32)
  return { election, rules, positions, places, changes, present, wanted, difference, unknownPositions, token }
}
export type CrewPlan = Awaited<ReturnType<typeof loadCrewPlan>>
