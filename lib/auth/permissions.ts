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
  | 'revokeCertificate'
  | 'manageIssuerKeys'
  | 'printSignInCard'
  | 'readQuizzes' // statistics, panels and appeals, with the keys of the questions
  | 'runQuizzes' // enter quizzes from paper, hold panels, enter appeals
  | 'decideQuizzes' // adopt a pass mark, decide an appeal, re-mark everybody
  | 'readRoster'
  | 'changeRoster'
  | 'readSignIns'
  | 'endSignIns'
  | 'manageAccounts'
  | 'changeCounty'
  | 'readAudit'
  | 'readOutbox'
  | 'readJobs'
  | 'retryJobs'
  | 'manageClasses'
  | 'recordOath'
  | 'publishRules'
  | 'writeReminders'
  | 'changePeople' // correct names and contacts, write notes, exclusions, pairs and pay
  | 'changePlaces' // places, elections, crews
  | 'importData' // bring files in, merge two records of one person: reads what is in the file

const HELD: Record<Access, ReadonlySet<Permission>> = {
  pollWorker: new Set<Permission>(['ownPath']),
  trainer: new Set<Permission>([
    'readPeople',
    'readAccommodations',
    'recordCheckOff',
    'readQuizzes',
    'runQuizzes',
    'printSignInCard',
    'manageClasses',
    'recordOath',
  ]),
  countyStaff: new Set<Permission>([
    'readPeople',
    'readParty',
    'readHomeAddress',
    'readAccommodations',
    'recordCheckOff',
    'readQuizzes',
    'runQuizzes',
    'decideQuizzes',
    'revokeCertificate',
    'printSignInCard',
    'readRoster',
    'changeRoster',
    'readSignIns',
    'endSignIns',
    'readJobs',
    'manageClasses',
    'recordOath',
    'publishRules',
    'writeReminders',
    'changePeople',
    'changePlaces',
    'importData',
  ]),
  administrator: new Set<Permission>([
    'readPeople',
    'readHomeAddress',
    'readConfidentialAddress',
    'readQuizzes',
    'decideQuizzes',
    'printSignInCard',
    'readRoster',
    'readSignIns',
    'endSignIns',
    'manageAccounts',
    'changeCounty',
    'manageIssuerKeys',
    'readAudit',
    'readOutbox',
    'readJobs',
    'retryJobs',
    'changePeople',
    'publishRules',
    'writeReminders',
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

const NOT_THERE = 'There is no such page, or it belongs to another county.'

/** @throws AppError NOT_FOUND outside the actor's counties (their existence is not told), FORBIDDEN inside them. */
export function assertCan(actor: Actor, permission: Permission, countyId: string | null): void {
  if (can(actor, permission, countyId)) return
  if (countyId !== null && !belongsTo(actor, countyId))
    throw new AppError('NOT_FOUND', { userMessage: NOT_THERE })
  throw new AppError('FORBIDDEN', {
    userMessage: 'Your account does not include this. Ask your administrator if you need it.',
  })
}

/** For what belongs to an account: the permission in one of the account's counties is enough. Returns that county
 *  (its audit chain). @throws AppError NOT_FOUND where the actor has no business in any of them, else FORBIDDEN. */
export function assertCanOver(
  actor: Actor,
  permission: Permission,
  grants: readonly { countyId: string | null }[],
): string {
  const grant = grants.find((g) => can(actor, permission, g.countyId))
  if (grant) return grant.countyId ?? 'state'
  const known = grants.find((g) => g.countyId !== null && belongsTo(actor, g.countyId))
  if (!known) throw new AppError('NOT_FOUND', { userMessage: NOT_THERE })
  assertCan(actor, permission, known.countyId)
  return known.countyId as string
}

/** The same where the permission is needed in every county of the account: who sets a password becomes that person
 *  everywhere, so a county's administrator can't do it to somebody with access elsewhere or in the state office. */
export function assertCanOverAll(
  actor: Actor,
  permission: Permission,
  grants: readonly { countyId: string | null }[],
): string {
  const chain = assertCanOver(actor, permission, grants)
  if (!grants.every((g) => can(actor, permission, g.countyId)))
    throw new AppError('FORBIDDEN', {
      userMessage: 'This account has access outside your county. Ask the state office to change it.',
    })
  return chain
}

/** The counties in which the actor holds a permission; 'all' for the state office. */
export const countiesWith = (actor: Actor, permission: Permission): 'all' | string[] => {
  const held = actor.grants.filter((grant) => HELD[grant.access].has(permission))
  return held.some((grant) => grant.countyId === null) ? 'all' : held.map((grant) => grant.countyId as string)
}
