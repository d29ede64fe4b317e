import { AppError } from '@/lib/kernel/errors'
import type { Access } from '@/prisma/client/enums'
import type { Actor } from './actor'

/** What can be asked for. Each kind of access holds some; nothing is held by name alone. */
export type Permission =
  | 'ownPath' // play lessons, sit quizzes, see one's own certificates
  | 'readPeople' // names, county numbers, languages, experience, availability, certificates
  | 'readParty'
  | 'readHomeAddress'
  | 'readConfidentialAddress' // address and coordinates of people under an address-confidentiality mark
  | 'readAccommodations'
  | 'recordCheckOff'
  | 'printSignInCard'
  | 'readRoster'
  | 'changeRoster'
  | 'readSignIns'
  | 'endSignIns'
  | 'manageAccounts'
  | 'changeCounty'
  | 'readAudit'
  | 'readOutbox'
  | 'readJobs'

const HELD: Record<Access, ReadonlySet<Permission>> = {
  pollWorker: new Set<Permission>(['ownPath']),
  trainer: new Set<Permission>(['readPeople', 'readAccommodations', 'recordCheckOff', 'printSignInCard']),
  countyStaff: new Set<Permission>([
    'readPeople',
    'readParty',
    'readHomeAddress',
    'readAccommodations',
    'recordCheckOff',
    'printSignInCard',
    'readRoster',
    'changeRoster',
    'readSignIns',
    'endSignIns',
    'readJobs',
  ]),
  administrator: new Set<Permission>([
    'readPeople',
    'readHomeAddress',
    'readConfidentialAddress',
    'printSignInCard',
    'readRoster',
    'readSignIns',
    'endSignIns',
    'manageAccounts',
    'changeCounty',
    'readAudit',
    'readOutbox',
    'readJobs',
  ]),
}

/** May this actor do this in this county? (`countyId` null: in the state office itself.) */
export const can = (actor: Actor, permission: Permission, countyId: string | null): boolean =>
  actor.grants.some(
    (grant) =>
      HELD[grant.access].has(permission) &&
      (grant.countyId === null || (countyId !== null && grant.countyId === countyId)),
  )

/** True where the actor has any business in the county: its existence may then be known. */
export const belongsTo = (actor: Actor, countyId: string): boolean =>
  actor.grants.some((grant) => grant.countyId === null || grant.countyId === countyId)

/** @throws AppError NOT_FOUND outside the actor's counties (their existence is not told), FORBIDDEN inside them. */
export function assertCan(actor: Actor, permission: Permission, countyId: string | null): void {
  if (can(actor, permission, countyId)) return
  if (countyId !== null && !belongsTo(actor, countyId))
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such page, or it belongs to another county.',
    })
  throw new AppError('FORBIDDEN', {
    userMessage: 'Your account does not include this. Ask your administrator if you need it.',
  })
}

/** The counties in which the actor holds a permission; 'all' for the state office. */
export const countiesWith = (actor: Actor, permission: Permission): 'all' | string[] => {
  const held = actor.grants.filter((grant) => HELD[grant.access].has(permission))
  return held.some((grant) => grant.countyId === null) ? 'all' : held.map((grant) => grant.countyId as string)
}
