import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { db, type Tx } from '@/lib/db/client'
import type { CivilDate } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { toKm } from '@/lib/kernel/miles'
import { Prisma } from '@/prisma/client/client'
import type { PeopleFilter } from './filter'

export const PEOPLE_PAGE = 50

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

/** A line of the list as a file. `email` and `phone` are absent where the actor may not read them. */
export interface PersonLine extends PersonSummary {
  email?: string | null
  languages: string[]
  electionsServed: number
}

export interface PeoplePage {
  people: PersonSummary[]
  /** Cursors of the pages after and before this one; null where there is none. */
  next: string | null
  previous: string | null
  /** Everybody who fits, on all pages. */
  matching: number
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

/** Where a precinct or a place is, by its code. @throws AppError INVALID_INPUT where there is none. */
async function pointOf(tx: Tx, countyId: string, code: string): Promise<{ lat: number; lon: number }> {
  const where = { countyId, code: { equals: code, mode: 'insensitive' as const } }
  const select = { lat: true, lon: true }
  const point =
    (await tx.precinct.findFirst({ where, select })) ?? (await tx.pollingPlace.findFirst({ where, select }))
  if (!point)
    throw new AppError('INVALID_INPUT', {
      userMessage: `No precinct and no place of this county has the code “${code.slice(0, 40)}”. Codes stand in the list of places.`,
    })
  return point
}

/** Great-circle distance on the mean sphere, as lib/places/core/distance.ts has it, after a cheap box. */
function nearSql({ lat, lon }: { lat: number; lon: number }, km: number): Prisma.Sql {
  const up = km / 110.5
  const along = km / (110.5 * Math.max(0.1, Math.cos((lat * Math.PI) / 180)))
  return Prisma.sql`(w."homeLat" BETWEEN ${lat - up} AND ${lat + up} AND w."homeLon" BETWEEN ${lon - along} AND ${lon + along}
    AND 2 * 6371.0087714 * asin(least(1, sqrt(sin(radians(w."homeLat" - ${lat}) / 2) ^ 2
      + cos(radians(${lat})) * cos(radians(w."homeLat")) * sin(radians(w."homeLon" - ${lon}) / 2) ^ 2))) <= ${km})`
}

/** The conditions of a filter in SQL over `"PollWorker" w`. Filtering by something tells it, so each needs the
 *  permission to read it; people with a protected address are near nothing. @throws AppError FORBIDDEN, INVALID_INPUT */
async function conditions(
  tx: Tx,
  actor: Actor,
  countyId: string,
  filter: PeopleFilter,
): Promise<Prisma.Sql[]> {
  const where = [Prisma.sql`w."countyId" = ${countyId}`, Prisma.sql`w."mergedIntoId" IS NULL`]
  const on = filter.certifiedOn
  for (const word of (filter.name ?? '').trim().split(/\s+/).filter(Boolean).slice(0, 4)) {
    const begins = `${likeText(word.toLowerCase())}%`
    // In the form that the indexes on the beginnings of names have.
    where.push(
      Prisma.sql`(lower(w."familyName") LIKE ${begins} OR lower(w."givenName") LIKE ${begins} OR lower(w."countyRef") LIKE ${begins})`,
    )
  }
  if (filter.wantsPositionKey) where.push(Prisma.sql`w."wantsPositionKey" = ${filter.wantsPositionKey}`)
  if (on && filter.certified === 'no') where.push(Prisma.sql`NOT ${holds(on, filter.certificateKey)}`)
  else if (on && (filter.certified === 'yes' || filter.certificateKey))
    where.push(holds(on, filter.certificateKey))
  if (filter.near) {
    assertCan(actor, 'readHomeAddress', countyId)
    where.push(nearSql(await pointOf(tx, countyId, filter.near), toKm(filter.withinMiles ?? 5)))
    if (!can(actor, 'readConfidentialAddress', countyId)) where.push(Prisma.sql`NOT w."confidentialAddress"`)
  }
  if (filter.language) where.push(Prisma.sql`${filter.language} = ANY(w.languages)`)
  if (filter.party) {
    assertCan(actor, 'readParty', countyId)
    where.push(
      filter.party === 'none'
        ? Prisma.sql`w.party IS NULL`
        : Prisma.sql`lower(w.party) = lower(${filter.party})`,
    )
  }
  if (filter.experience === 'none') where.push(Prisma.sql`w."electionsServed" = 0`)
  else if (filter.experience) where.push(Prisma.sql`w."electionsServed" >= ${Number(filter.experience)}`)
  if (filter.freeOn)
    where.push(Prisma.sql`NOT (${filter.freeOn} = ANY(w."unavailableOn")) AND NOT EXISTS (
      SELECT 1 FROM "Exclusion" e WHERE e."pollWorkerId" = w.id AND e."takenBackAt" IS NULL
        AND e."pollingPlaceId" IS NULL AND e."firstOn" <= ${filter.freeOn}
        AND (e."lastOn" IS NULL OR e."lastOn" >= ${filter.freeOn}))`)
  if (filter.offersShift) where.push(Prisma.sql`w."offersShift" = ${filter.offersShift}`)
  if (filter.active) where.push(Prisma.sql`w.active = ${filter.active === 'yes'}`)
  if (filter.student) where.push(Prisma.sql`w.student`)
  return where
}

/** One page of a county's people in name order, by keyset on the index (county, family name, given name): no page
 *  reads what earlier pages showed. Only the columns that the actor may read. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listPeople(actor: Actor, countyId: string, filter: PeopleFilter): Promise<PeoplePage> {
  assertCan(actor, 'readPeople', countyId)
  const on = filter.certifiedOn
  const all = await conditions(db(), actor, countyId, filter)
  const where = [...all]
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
  const [rows, [counted]] = await Promise.all([
    db().$queryRaw<Omit<PersonSummary, 'certificates'>[]>`
      SELECT ${columnsFor(actor, countyId)} FROM "PollWorker" w
      WHERE ${Prisma.join(where, ' AND ')} ORDER BY ${order} LIMIT ${PEOPLE_PAGE + 1}`,
    db().$queryRaw<{ people: number }[]>`
      SELECT count(*)::int AS people FROM "PollWorker" w WHERE ${Prisma.join(all, ' AND ')}`,
  ])
  const more = rows.length > PEOPLE_PAGE
  const page = rows.slice(0, PEOPLE_PAGE)
  if (before) page.reverse()
  const keys = await certificatesOn(
    on,
    page.map((p) => p.id),
  )
  return {
    people: page.map((p) => ({ ...p, certificates: keys.get(p.id) ?? [] })),
    next: (before ? page.length > 0 : more) ? cursorText(page.at(-1)!) : null,
    previous: (before ? more : after !== null && page.length > 0) ? cursorText(page[0]!) : null,
    matching: counted!.people,
  }
}

/** What the list reads of a person: only what the actor may. */
function columnsFor(actor: Actor, countyId: string): Prisma.Sql {
  return Prisma.join([
    Prisma.sql`w.id, w."countyRef", w."givenName", w."familyName", w."wantsPositionKey", w."offersShift", w.active,
      w."confidentialAddress" AS "addressProtected"`,
    ...(can(actor, 'readRoster', countyId) ? [Prisma.sql`w.phone`] : []),
    ...(can(actor, 'readParty', countyId) ? [Prisma.sql`w.party`] : []),
    ...(can(actor, 'readHomeAddress', countyId)
      ? [
          can(actor, 'readConfidentialAddress', countyId)
            ? Prisma.sql`w."homeAddress" AS address`
            : Prisma.sql`CASE WHEN w."confidentialAddress" THEN NULL ELSE w."homeAddress" END AS address`,
        ]
      : []),
  ])
}

/** Person → the certificates held on a day. */
async function certificatesOn(on: CivilDate | undefined, ids: string[]): Promise<Map<string, string[]>> {
  const keys = new Map<string, string[]>()
  if (!on) return keys
  const spans = await db().$queryRaw<{ pollWorkerId: string; certificateKey: string }[]>`
    SELECT "pollWorkerId", "certificateKey" FROM "CertificateSpan"
    WHERE "pollWorkerId" = ANY(${ids}::uuid[]) AND "validFrom" <= ${on}
      AND ("validUntil" IS NULL OR "validUntil" > ${on}) ORDER BY "certificateKey"`
  for (const span of spans)
    keys.set(span.pollWorkerId, [...(keys.get(span.pollWorkerId) ?? []), span.certificateKey])
  return keys
}

/** Everybody who fits a filter, in name order, for a file. Only the columns that the actor may read.
 *  @throws AppError NOT_FOUND, FORBIDDEN, INVALID_INPUT */
export async function listAllPeople(
  actor: Actor,
  countyId: string,
  filter: PeopleFilter,
): Promise<PersonLine[]> {
  assertCan(actor, 'readPeople', countyId)
  const where = await conditions(db(), actor, countyId, filter)
  const email = can(actor, 'readRoster', countyId) ? Prisma.sql`, w.email` : Prisma.empty
  const rows = await db().$queryRaw<Omit<PersonLine, 'certificates'>[]>`
    SELECT ${columnsFor(actor, countyId)}, w.languages, w."electionsServed" ${email} FROM "PollWorker" w
    WHERE ${Prisma.join(where, ' AND ')} ORDER BY w."familyName", w."givenName", w.id`
  const keys = await certificatesOn(
    filter.certifiedOn,
    rows.map((row) => row.id),
  )
  return rows.map((row) => ({ ...row, certificates: keys.get(row.id) ?? [] }))
}

/** Ids and names of everybody who fits a filter, in name order: what a change of many people is shown and done for. */
export async function listMatching(
  tx: Tx,
  actor: Actor,
  countyId: string,
  filter: PeopleFilter,
): Promise<{ id: string; name: string; countyRef: string }[]> {
  assertCan(actor, 'readPeople', countyId)
  const where = await conditions(tx, actor, countyId, filter)
  return tx.$queryRaw`
    SELECT w.id, w."familyName" || ', ' || w."givenName" AS name, w."countyRef" FROM "PollWorker" w
    WHERE ${Prisma.join(where, ' AND ')} ORDER BY w."familyName", w."givenName", w.id`
}

/** Parties of a county's people, for the filter. None for those who may not read them. */
export async function listParties(actor: Actor, countyId: string): Promise<string[]> {
  if (!can(actor, 'readParty', countyId)) return []
  const rows = await db().$queryRaw<{ party: string }[]>`
    SELECT DISTINCT party FROM "PollWorker" WHERE "countyId" = ${countyId} AND party IS NOT NULL ORDER BY 1 LIMIT 30`
  return rows.map((row) => row.party)
}

export interface SavedViewSummary {
  id: string
  name: string
  query: string
}

/** The views of the list that the actor has kept, by name. */
export async function listSavedViews(actor: Actor, countyId: string): Promise<SavedViewSummary[]> {
  assertCan(actor, 'readPeople', countyId)
  return db().savedView.findMany({
    where: { accountId: actor.accountId, countyId, list: 'people' },
    select: { id: true, name: true, query: true },
    orderBy: { name: 'asc' },
  })
}
