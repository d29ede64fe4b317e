import type { Actor } from '@/lib/auth/actor'
import { can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { type CrewFault, type CrewMember, listCrewFaults, loadPartyJudge } from './facts-crews'
import { listMissedPairs, loadPairJudge, type MissedPair } from './facts-pairs'
import { loadWishJudge, type SpotTaken } from './facts-wish-judge'
import { type CrewWishes, listMissedWishes } from './facts-wishes'
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
    const missed = crew.missed.filter((wish) => wish.kind === 'speakers' || wish.kind === 'experienced')
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
interface Warnings {
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

/** What speaks against bringing people into one seat; nothing of parties to those who may not read them. `head` has been
 *  authorised. */
export async function getCrewWarnings(
  actor: Actor,
  head: ElectionHead,
  seat: { spot: string; placeId: string; servesOn: string; personId: string | null },
  people: readonly Comer[],
): Promise<CrewWarnings> {
  const { servesOn, personId } = seat
  const keys = head.roster && { id: head.roster.id, countyId: head.countyId, electionId: head.id }
  const placeIds = [...new Set([seat.placeId, ...people.flatMap((p) => p.elsewhere?.placeId ?? [])])]
  const workerIds = people.map((p) => p.id)
  const concerned = personId ? [...workerIds, personId] : workerIds
  const tellsParties = can(actor, 'readParty', head.countyId)
  const [partyJudge, pairJudge, wishJudge] = await Promise.all([
    keys && tellsParties ? loadPartyJudge(db(), keys, placeIds, workerIds) : null,
    keys ? loadPairJudge(db(), keys, placeIds, concerned) : null,
    keys ? loadWishJudge(db(), keys, placeIds, concerned, tellsParties) : null,
  ])
  type Member = CrewMember & SpotTaken
  const judge = (change: { leave: Member[]; come: Member[] }): Warnings => ({
    warnings: partyJudge?.(change) ?? [],
    pairWarnings: pairJudge?.(change) ?? [],
    wishWarnings: wishJudge?.(change) ?? [],
  })
  const here = { placeId: seat.placeId, seatId: seat.spot }
  const member = (workerId: string, at = here): Member => ({
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
