import type { Actor } from '@/lib/auth/actor'
import { can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { type CrewFault, type CrewMember, listCrewFaults, loadPartyJudge } from './facts-crews'
import { listMissedPairs, loadPairJudge, type MissedPair } from './facts-pairs'
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
  elsewhere: { placeId: string } | null
}

/** By the county's crew rules, and by pairs of people to keep together or apart. */
interface Warnings {
  warnings: string[]
  pairWarnings: string[]
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
  seat: { placeId: string; servesOn: string; personId: string | null },
  people: readonly Comer[],
): Promise<CrewWarnings> {
  const { servesOn, personId } = seat
  const keys = head.roster && { id: head.roster.id, countyId: head.countyId, electionId: head.id }
  const placeIds = [...new Set([seat.placeId, ...people.flatMap((p) => p.elsewhere?.placeId ?? [])])]
  const workerIds = people.map((p) => p.id)
  const [partyJudge, pairJudge] = await Promise.all([
    keys && can(actor, 'readParty', head.countyId) ? loadPartyJudge(db(), keys, placeIds, workerIds) : null,
    keys ? loadPairJudge(db(), keys, placeIds, personId ? [...workerIds, personId] : workerIds) : null,
  ])
  const judge = (change: { leave: CrewMember[]; come: CrewMember[] }): Warnings => ({
    warnings: partyJudge?.(change) ?? [],
    pairWarnings: pairJudge?.(change) ?? [],
  })
  const member = (workerId: string, placeId = seat.placeId): CrewMember => ({ workerId, placeId, servesOn })
  const leave = ({ id, elsewhere }: Comer) => [
    ...(personId ? [member(personId)] : []),
    ...(elsewhere ? [member(id, elsewhere.placeId)] : []),
  ]
  return {
    coming: (person) => judge({ leave: leave(person), come: [member(person.id)] }),
    changing: (person) =>
      judge({
        leave: leave(person),
        come: [
          member(person.id),
          ...(personId && person.elsewhere ? [member(personId, person.elsewhere.placeId)] : []),
        ],
      }),
  }
}
