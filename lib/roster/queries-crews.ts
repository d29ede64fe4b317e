import type { Actor } from '@/lib/auth/actor'
import { can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { type CrewFault, type CrewMember, listCrewFaults, loadPartyJudge } from './facts-crews'
import { listMissedPairs, loadPairJudge, type MissedPair } from './facts-pairs'
import { loadWishJudge, type SpotTaken } from './facts-wish-judge'
import { type CrewWishes, isAboutParties, listMissedWishes } from './facts-wishes'
import type { ElectionHead } from './queries'

/** The crews of the newest roster that break the county's own limits; what tells a party only to those who may read it.
 *  `head` has been authorised. */
export async function getCrewFaults(actor: Actor, head: ElectionHead): Promise<CrewFault[]> {
  if (!head.roster) return []
  const faults = await listCrewFaults(db(), {
    id: head.roster.id,
    countyId: head.countyId,
    electionId: head.id,
  })
  return faults.filter((fault) => fault.kind !== 'party' || can(actor, 'readParty', head.countyId))
}

/** What crews of the newest roster miss of the county's wishes; what is about parties only for those who may read them.
 *  `head` has been authorised. */
export async function getMissedWishes(actor: Actor, head: ElectionHead): Promise<CrewWishes[]> {
  if (!head.roster) return []
  const crews = await listMissedWishes(db(), {
    id: head.roster.id,
    countyId: head.countyId,
    electionId: head.id,
  })
  if (can(actor, 'readParty', head.countyId)) return crews
  return crews.flatMap((crew) => {
    const missed = crew.missed.filter((wish) => !isAboutParties(wish))
    return missed.length > 0 ? [{ ...crew, missed }] : []
  })
}

/** The pairs of people that the newest roster misses. `head` has been authorised. */
export const getMissedPairs = async (head: ElectionHead): Promise<MissedPair[]> =>
  head.roster ? listMissedPairs(db(), { id: head.roster.id, countyId: head.countyId }) : []

/** Somebody who could come into a seat, and from where. */
interface Comer {
  id: string
  /** `seatId`: of the spot there. */
  elsewhere: { placeId: string; seatId: string } | null
}

/** By the county's crew rules, by pairs of people to keep together or apart, by what the county wishes of its rosters. */
export interface Warnings {
  warnings: string[]
  pairWarnings: string[]
  wishWarnings: string[]
}

export interface CrewWarnings {
  /** If this person comes, and whoever sits there goes. */
  coming: (person: Comer) => Warnings
  /** If the two change seats. */
  changing: (person: Comer) => Warnings
}

/** Somebody who would leave or join a crew, and which spot they leave or take. */
type CrewChanger = CrewMember & SpotTaken

export type CrewJudge = (change: { leave: CrewChanger[]; come: CrewChanger[] }) => Warnings

export const NO_WARNINGS: Warnings = { warnings: [], pairWarnings: [], wishWarnings: [] }

/** What speaks against changes among some places and people; nothing of parties to those who may not read them. */
export async function loadCrewJudge(
  actor: Actor,
  roster: { id: string; countyId: string; electionId: string },
  placeIds: readonly string[],
  workerIds: readonly string[],
): Promise<CrewJudge> {
  const tellsParties = can(actor, 'readParty', roster.countyId)
  const [partyJudge, pairJudge, wishJudge] = await Promise.all([
    tellsParties ? loadPartyJudge(db(), roster, placeIds, workerIds) : null,
    loadPairJudge(db(), roster, placeIds, workerIds),
    loadWishJudge(db(), roster, placeIds, workerIds, tellsParties),
  ])
  return (change) => ({
    warnings: partyJudge?.(change) ?? [],
    pairWarnings: pairJudge?.(change) ?? [],
    wishWarnings: wishJudge?.(change) ?? [],
  })
}

/** What speaks against bringing people into one seat; nothing of parties to those who may not read them. `head` has been
 *  authorised. */
export async function getCrewWarnings(
  actor: Actor,
  head: ElectionHead,
  seat: { spot: string; placeId: string; servesOn: string; personId: string | null },
  people: readonly Comer[],
): Promise<CrewWarnings> {
  const { servesOn, personId } = seat
  const placeIds = [...new Set([seat.placeId, ...people.flatMap((p) => p.elsewhere?.placeId ?? [])])]
  const workerIds = people.map((p) => p.id)
  const judge = head.roster
    ? await loadCrewJudge(
        actor,
        { id: head.roster.id, countyId: head.countyId, electionId: head.id },
        placeIds,
        personId ? [...workerIds, personId] : workerIds,
      )
    : () => NO_WARNINGS
  const here = { placeId: seat.placeId, seatId: seat.spot }
  const member = (workerId: string, at = here): CrewChanger => ({
    workerId,
    placeId: at.placeId,
    servesOn,
    spot: at.seatId,
  })
  const leave = ({ id, elsewhere }: Comer) => [
    ...(personId ? [member(personId)] : []),
    ...(elsewhere ? [member(id, elsewhere)] : []),
  ]
  return {
    coming: (person) => judge({ leave: leave(person), come: [member(person.id)] }),
    changing: (person) =>
      judge({
        leave: leave(person),
        come: [
          member(person.id),
          ...(personId && person.elsewhere ? [member(personId, person.elsewhere)] : []),
        ],
      }),
  }
}
