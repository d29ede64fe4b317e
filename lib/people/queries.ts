import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import type { CivilDate } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { Prisma } from '@/prisma/client/client'

export const PEOPLE_PAGE = 50

export interface PeopleFilter {
  /** Part of a name, or the county's number. */
  name?: string
  wantsPositionKey?: string
  /** Holds this certificate on `certifiedOn`. */
  certificateKey?: string
  certifiedOn?: CivilDate
  /** `certified` or not on that day, with any certificate when no key is given. */
  certified?: 'yes' | 'no'
  after?: string
  before?: string
}

/** What the list shows. `party` and `address` are absent where the actor may not read them, null where there is none;
 *  `addressProtected` in place of an address that is kept confidential. */
export interface PersonSummary {
  id: string
  countyRef: string
  givenName: string
  familyName: string
  phone?: string | null
  wantsPositionKey: string | null
  offersShift: string
  active: boolean
  certificates: string[]
  party?: string | null
  address?: string | null
  addressProtected: boolean
}

export interface PeoplePage {
  people: PersonSummary[]
  /** Cursors of the pages after and before this one; null where there is none. */
  next: string | null
  previous: string | null
}

type Cursor = [family: string, given: string, id: string]
const cursorText = (person: { familyName: string; givenName: string; id: string }) =>
  Buffer.from(JSON.stringify([person.familyName, person.givenName, person.id])).toString('base64url')

function readCursor(text: string | undefined): Cursor | null {
  if (!text) return null
  try {
    const parts = JSON.parse(Buffer.from(text, 'base64url').toString('utf8')) as unknown
    if (Array.isArray(parts) && parts.length === 3 && parts.every((p) => typeof p === 'string'))
      if (/^[0-9a-f-]{36}$/.test(parts[2] ?? '')) return parts as Cursor
  } catch {
    // Falls through: a cursor that somebody edited begins at the first page.
  }
  return null
}

const likeText = (text: string) => text.replace(/[\\%_]/g, (c) => `\\${c}`)

const holds = (on: CivilDate, key: string | undefined) => Prisma.sql`EXISTS (
  SELECT 1 FROM "CertificateSpan" c WHERE c."pollWorkerId" = w.id
    ${key ? Prisma.sql`AND c."certificateKey" = ${key}` : Prisma.empty}
    AND c."validFrom" <= ${on} AND (c."validUntil" IS NULL OR c."validUntil" > ${on}))`

/** One page of a county's people in name order, by keyset on the index (county, family name, given name): no page
 *  reads what earlier pages showed. Only the columns that the actor may read. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listPeople(actor: Actor, countyId: string, filter: PeopleFilter): Promise<PeoplePage> {
  assertCan(actor, 'readPeople', countyId)
  const where: Prisma.Sql[] = [Prisma.sql`w."countyId" = ${countyId}`]
  const on = filter.certifiedOn
  for (const word of (filter.name ?? '').trim().split(/\s+/).filter(Boolean).slice(0, 4)) {
    const begins = `${likeText(word)}%`
    where.push(
      Prisma.sql`(w."familyName" ILIKE ${begins} OR w."givenName" ILIKE ${begins} OR w."countyRef" ILIKE ${begins})`,
    )
  }
  if (filter.wantsPositionKey) where.push(Prisma.sql`w."wantsPositionKey" = ${filter.wantsPositionKey}`)
  if (on && filter.certified === 'no') where.push(Prisma.sql`NOT ${holds(on, filter.certificateKey)}`)
  else if (on && (filter.certified === 'yes' || filter.certificateKey))
    where.push(holds(on, filter.certificateKey))
  const after = readCursor(filter.after)
  const before = after ? null : readCursor(filter.before)
  if (after)
    where.push(
      Prisma.sql`(w."familyName", w."givenName", w.id) > (${after[0]}, ${after[1]}, ${after[2]}::uuid)`,
    )
  if (before)
    where.push(
      Prisma.sql`(w."familyName", w."givenName", w.id) < (${before[0]}, ${before[1]}, ${before[2]}::uuid)`,
    )
  const order = before
    ? Prisma.sql`w."familyName" DESC, w."givenName" DESC, w.id DESC`
    : Prisma.sql`w."familyName", w."givenName", w.id`
  const contact = can(actor, 'readRoster', countyId)
  const party = can(actor, 'readParty', countyId)
  const address = can(actor, 'readHomeAddress', countyId)
  const confidential = can(actor, 'readConfidentialAddress', countyId)
  const columns = [
    Prisma.sql`w.id, w."countyRef", w."givenName", w."familyName", w."wantsPositionKey", w."offersShift", w.active,
      w."confidentialAddress" AS "addressProtected"`,
    ...(contact ? [Prisma.sql`w.phone`] : []),
    ...(party ? [Prisma.sql`w.party`] : []),
    ...(address
      ? [
          confidential
            ? Prisma.sql`w."homeAddress" AS address`
            : Prisma.sql`CASE WHEN w."confidentialAddress" THEN NULL ELSE w."homeAddress" END AS address`,
        ]
      : []),
  ]
  const rows = await db().$queryRaw<Omit<PersonSummary, 'certificates'>[]>`
    SELECT ${Prisma.join(columns)} FROM "PollWorker" w
    WHERE ${Prisma.join(where, ' AND ')} ORDER BY ${order} LIMIT ${PEOPLE_PAGE + 1}`
  const more = rows.length > PEOPLE_PAGE
  const page = rows.slice(0, PEOPLE_PAGE)
  if (before) page.reverse()
  const spans = on
    ? await db().certificateSpan.findMany({
        where: {
          pollWorkerId: { in: page.map((p) => p.id) },
          validFrom: { lte: on },
          OR: [{ validUntil: null }, { validUntil: { gt: on } }],
        },
        select: { pollWorkerId: true, certificateKey: true },
      })
    : []
  const keys = new Map<string, string[]>()
  for (const span of spans)
    keys.set(span.pollWorkerId, [...(keys.get(span.pollWorkerId) ?? []), span.certificateKey])
  return {
    people: page.map((p) => ({ ...p, certificates: keys.get(p.id) ?? [] })),
    next: (before ? page.length > 0 : more) ? cursorText(page.at(-1)!) : null,
    previous: (before ? more : after !== null && page.length > 0) ? cursorText(page[0]!) : null,
  }
}

export interface PersonDetail extends PersonSummary {
  birthYear: number | null
  email?: string | null
  languages: string[]
  accommodations?: string | null
  electionsServed: number
  maxTravelKm: number | null
  unavailableOn: string[]
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
      accommodations: may('readAccommodations'),
      facts: { orderBy: [{ happenedOn: 'desc' }, { recordedAt: 'desc' }, { id: 'desc' }] },
      spans: { orderBy: [{ certificateKey: 'asc' }, { validFrom: 'desc' }] },
    },
  })
  if (!person) throw missing
  const { confidentialAddress, homeAddress, facts, spans, ...plain } = person
  const revokedBy = new Map(facts.flatMap((f) => (f.revokesFactId ? [[f.revokesFactId, f.id] as const] : [])))
  return {
    ...plain,
    certificates: [],
    addressProtected: confidentialAddress,
    ...(may('readHomeAddress')
      ? { address: confidentialAddress && !may('readConfidentialAddress') ? null : homeAddress }
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
