import type { Actor } from '@/lib/auth/actor'
import { can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { type CrewFault, type CrewMember, listCrewFaults, loadPartyJudge } from './facts-crews'
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

/** Somebody who could come into a seat, and from where. */
interface Comer {
  id: string
  elsewhere: { placeId: string } | null
}

export interface PartyWarnings {
  /** If this person comes, and whoever sits there goes. */
  coming: (person: Comer) => string[]
  /** If the two change seats. */
  changing: (person: Comer) => string[]
}

/** What the county's crew rules say against bringing people into one seat; nothing to those who may not read parties.
 *  `head` has been authorised. */
export async function getPartyWarnings(
  actor: Actor,
  head: ElectionHead,
  seat: { placeId: string; servesOn: string; personId: string | null },
  people: readonly Comer[],
): Promise<PartyWarnings> {
  const judge =
    head.roster && can(actor, 'readParty', head.countyId)
      ? await loadPartyJudge(
          db(),
          { id: head.roster.id, countyId: head.countyId, electionId: head.id },
          [...new Set([seat.placeId, ...people.flatMap((p) => p.elsewhere?.placeId ?? [])])],
          people.map((p) => p.id),
        )
      : null
  if (!judge) return { coming: () => [], changing: () => [] }
  const { servesOn, personId } = seat
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
