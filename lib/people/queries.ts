import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { recordIdsOf } from '@/lib/certification/queries'
import { db } from '@/lib/db/client'
import { AppError } from '@/lib/kernel/errors'
import type { PersonSummary } from './queries-list'

export interface PersonDetail extends PersonSummary {
  birthYear: number | null
  email?: string | null
  languages: string[]
  accommodations?: string | null
  timeMultiplier?: number
  student: boolean
  livesOutside: boolean
  /** With the same permission as the address. */
  homePrecinct?: string | null
  /** Where they live, with the same permission as the address. */
  at?: { lat: number | null; lon: number | null } | null
  electionsServed: number
  maxTravelKm: number | null
  unavailableOn: string[]
  /** The record of the same person that counts, when this one was merged into it. */
  mergedInto: { id: string; countyRef: string } | null
  facts: {
    id: string
    kind: string
    topic: string
    on: string
    scoreFraction: number | null
    equipmentProfile: string | null
    revokesFactId: string | null
    revokedById: string | null
  }[]
  spans: { certificateKey: string; validFrom: string; validUntil: string | null }[]
}

/** One person of a county with their facts (newest first) and spans. Out of the county is not found.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function getPerson(actor: Actor, countyId: string, personId: string): Promise<PersonDetail> {
  assertCan(actor, 'readPeople', countyId)
  const missing = new AppError('NOT_FOUND', {
    userMessage: 'There is no such person, or they belong to another county.',
  })
  if (!/^[0-9a-f-]{36}$/.test(personId)) throw missing
  const may = (permission: Parameters<typeof can>[1]) => can(actor, permission, countyId)
  const person = await db().pollWorker.findUnique({
    where: { id: personId, countyId },
    select: {
      id: true,
      countyRef: true,
      givenName: true,
      familyName: true,
      birthYear: true,
      student: true,
      livesOutside: true,
      phone: may('readRoster'),
      email: may('readRoster'),
      wantsPositionKey: true,
      offersShift: true,
      active: true,
      languages: true,
      electionsServed: true,
      maxTravelKm: true,
      unavailableOn: true,
      confidentialAddress: true,
      party: may('readParty'),
      homeAddress: may('readHomeAddress'),
      homeLat: may('readHomeAddress'),
      homeLon: may('readHomeAddress'),
      homePrecinct: may('readHomeAddress'),
      accommodations: may('readAccommodations'),
      timeMultiplier: may('readAccommodations'),
      mergedInto: { select: { id: true, countyRef: true } },
      spans: { orderBy: [{ certificateKey: 'asc' }, { validFrom: 'desc' }] },
    },
  })
  if (!person) throw missing
  const { confidentialAddress, homeAddress, homeLat, homeLon, homePrecinct, spans, ...plain } = person
  const hidden = confidentialAddress && !may('readConfidentialAddress')
  // What was recorded under a second record of the same person counts here.
  const facts = await db().fact.findMany({
    where: { pollWorkerId: { in: await recordIdsOf(db(), countyId, person.id) } },
    orderBy: [{ happenedOn: 'desc' }, { recordedAt: 'desc' }, { id: 'desc' }],
  })
  const revokedBy = new Map(facts.flatMap((f) => (f.revokesFactId ? [[f.revokesFactId, f.id] as const] : [])))
  return {
    ...plain,
    certificates: [],
    addressProtected: confidentialAddress,
    ...(may('readHomeAddress')
      ? {
          address: hidden ? null : homeAddress,
          homePrecinct: hidden ? null : homePrecinct,
          at: hidden ? null : { lat: homeLat, lon: homeLon },
        }
      : {}),
    facts: facts.map((f) => ({
      id: f.id,
      kind: f.kind,
      topic: f.topic,
      on: f.happenedOn,
      scoreFraction: f.scoreFraction,
      equipmentProfile: f.equipmentProfile,
      revokesFactId: f.revokesFactId,
      revokedById: revokedBy.get(f.id) ?? null,
    })),
    spans: spans.map(({ certificateKey, validFrom, validUntil }) => ({
      certificateKey,
      validFrom,
      validUntil,
    })),
  }
}

/** The county's positions in order of rank: filters and labels. */
export async function listPositions(countyId: string) {
  return db().position.findMany({
    where: { countyId },
    select: { key: true, nameEn: true, nameEs: true, rank: true, certificateKey: true },
    orderBy: [{ rank: 'asc' }, { key: 'asc' }],
  })
}
