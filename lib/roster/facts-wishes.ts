import { partyKey } from '@/lib/crews/core/party'
import type { Tx } from '@/lib/db/client'
import { type CountyRosterRules, countyRosterRulesOf } from './county-rules'
import { settingsOf } from './facts'
import { type CrewFault, listCrewFaults } from './facts-crews'

/** A wish that a crew (all who sit in one place on one day) misses. */
export type MissedWish =
  /** People of one of the two parties too many, in the worse half of the day; `required`: the county allows none. */
  | { kind: 'balance'; people: number; required: boolean }
  | { kind: 'lead-and-deputy' }
  /** People missing who speak the language, or who have served before. */
  | { kind: 'speakers'; people: number; language: string }
  | { kind: 'experienced'; people: number }

/** Is it told only to those who may read parties? */
export const isAboutParties = ({ kind }: MissedWish): boolean =>
  kind === 'balance' || kind === 'lead-and-deputy'

export interface CrewWishes {
  placeId: string
  placeCode: string
  placeName: string
  servesOn: string
  missed: MissedWish[]
}

export interface RosterKeys {
  id: string
  countyId: string
  electionId: string
}

export interface Counts {
  firstMorning: number
  secondMorning: number
  firstAfternoon: number
  secondAfternoon: number
  /** Leads and deputies; those among them of each party. */
  leads: number
  deputies: number
  dutyFirst: number
  dutySecond: number
  speakers: number
  experienced: number
}

export const wishesNothing = (wishes: CountyRosterRules): boolean =>
  wishes.balance === 'none' &&
  wishes.leadAndDeputy === 'any' &&
  wishes.speakers === 0 &&
  wishes.experienced === 0

/** What the crews of a roster miss of the county's wishes, by place and day, counted from who sits there now. One grouped
 *  read; none where the county wishes nothing. */
export async function listMissedWishes(tx: Tx, roster: RosterKeys): Promise<CrewWishes[]> {
  const wishes = countyRosterRulesOf(await settingsOf(tx, roster.countyId))
  if (wishesNothing(wishes)) return []
  const [first, second] = await spellingsOf(tx, roster.countyId, [wishes.firstParty, wishes.secondParty])
  const rows = await tx.$queryRaw<(Counts & Omit<CrewWishes, 'missed'>)[]>`
    SELECT p.id AS "placeId", p.code AS "placeCode", p.name AS "placeName", s."servesOn",
      count(*) FILTER (WHERE w.first AND g."morningOn" IS NOT NULL)::int AS "firstMorning",
      count(*) FILTER (WHERE w.second AND g."morningOn" IS NOT NULL)::int AS "secondMorning",
      count(*) FILTER (WHERE w.first AND g."afternoonOn" IS NOT NULL)::int AS "firstAfternoon",
      count(*) FILTER (WHERE w.second AND g."afternoonOn" IS NOT NULL)::int AS "secondAfternoon",
      count(w.id) FILTER (WHERE o.rank = 1)::int AS leads,
      count(w.id) FILTER (WHERE o.rank <> 1 AND o.key = ${wishes.deputy})::int AS deputies,
      count(w.id) FILTER (WHERE w.first AND (o.rank = 1 OR o.key = ${wishes.deputy}))::int AS "dutyFirst",
      count(w.id) FILTER (WHERE w.second AND (o.rank = 1 OR o.key = ${wishes.deputy}))::int AS "dutySecond",
      count(w.id) FILTER (WHERE ${wishes.language} = ANY(w.languages))::int AS speakers,
      count(w.id) FILTER (WHERE w."electionsServed" >= ${wishes.elections})::int AS experienced
    FROM "Seat" s JOIN "PollingPlace" p ON p.id = s."pollingPlaceId" JOIN "Position" o ON o.id = s."positionId"
      LEFT JOIN "Seating" g ON g."seatId" = s.id AND g."rosterId" = ${roster.id}::uuid
      LEFT JOIN (
        SELECT id, languages, "electionsServed", party = ANY(${first}) AS first, party = ANY(${second}) AS second
        FROM "PollWorker" WHERE "countyId" = ${roster.countyId}
      ) w ON w.id = g."pollWorkerId"
    WHERE s."electionId" = ${roster.electionId}::uuid
    GROUP BY p.id, s."servesOn" ORDER BY p.code, s."servesOn"`
  return rows.flatMap((row) => {
    const missed = missedOf(wishes, row)
    const { placeId, placeCode, placeName, servesOn } = row
    return missed.length > 0 ? [{ placeId, placeCode, placeName, servesOn, missed }] : []
  })
}

/** How the county's records spell each of some parties (compared by `partyKey`). */
async function spellingsOf(tx: Tx, countyId: string, parties: readonly string[]): Promise<string[][]> {
  const rows = await tx.pollWorker.findMany({
    where: { countyId, party: { not: null } },
    select: { party: true },
    distinct: ['party'],
  })
  return parties.map((party) =>
    rows.flatMap((row) => (partyKey(row.party) === partyKey(party) ? [row.party!] : [])),
  )
}

/** Crews with more of one party than the county allows: by its crew rules, or by a balance that it requires. */
export function crewsOverParty(faults: readonly CrewFault[], wishes: readonly CrewWishes[]): number {
  const over = [
    ...faults.filter((fault) => fault.kind === 'party'),
    ...wishes.filter((crew) => crew.missed.some((wish) => wish.kind === 'balance' && wish.required)),
  ]
  return new Set(over.map((crew) => `${crew.placeId} ${crew.servesOn}`)).size
}

export async function countOverParty(tx: Tx, roster: RosterKeys): Promise<number> {
  return crewsOverParty(await listCrewFaults(tx, roster), await listMissedWishes(tx, roster))
}

export function missedOf(wishes: CountyRosterRules, crew: Counts): MissedWish[] {
  const missed: MissedWish[] = []
  const most = Math.max(
    Math.abs(crew.firstMorning - crew.secondMorning),
    Math.abs(crew.firstAfternoon - crew.secondAfternoon),
  )
  if (wishes.balance !== 'none' && most > wishes.mostDifference)
    missed.push({
      kind: 'balance',
      people: most - wishes.mostDifference,
      required: wishes.balance === 'required',
    })
  const duties = crew.leads + crew.deputies
  const alike = crew.dutyFirst === duties || crew.dutySecond === duties
  if (wishes.leadAndDeputy === 'different' && crew.leads > 0 && crew.deputies > 0 && alike)
    missed.push({ kind: 'lead-and-deputy' })
  if (wishes.language !== '' && crew.speakers < wishes.speakers)
    missed.push({ kind: 'speakers', people: wishes.speakers - crew.speakers, language: wishes.language })
  if (crew.experienced < wishes.experienced)
    missed.push({ kind: 'experienced', people: wishes.experienced - crew.experienced })
  return missed
}
