import type { Actor } from '@/lib/auth/actor'
import { can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { type CrewFault, listCrewFaults } from './facts-crews'
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
