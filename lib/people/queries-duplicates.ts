import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { AppError } from '@/lib/kernel/errors'
import type { Agreement, LikelyPair, Somebody } from './core/duplicates'
import { MERGE_FIELDS } from './core/merge-fields'

/** Everybody of a county who could be somebody's double: for the job. */
export async function listComparable(countyId: string): Promise<Somebody[]> {
  const rows = await db().pollWorker.findMany({
    where: { countyId, mergedIntoId: null },
    select: {
      id: true,
      givenName: true,
      familyName: true,
      birthYear: true,
      email: true,
      phone: true,
      homeAddress: true,
    },
    orderBy: { id: 'asc' },
  })
  return rows.map(({ id, homeAddress, ...row }) => ({ ...row, key: id, address: homeAddress }))
}

interface PersonLine {
  id: string
  countyRef: string
  name: string
  birthYear: number | null
}

export interface DuplicatesPage {
  search: { finishedAt: Date | null; askedAt: Date; people: number } | null
  pairs: { first: PersonLine; second: PersonLine; nameSimilarity: number; agree: Agreement[] }[]
  /** Open pairs in all; `pairs` has the first hundred. */
  open: number
  merges: { id: string; kept: PersonLine; merged: PersonLine; mergedAt: Date; undoneAt: Date | null }[]
}

const PAGE = 100

const line = (row: {
  id: string
  countyRef: string
  givenName: string
  familyName: string
  birthYear: number | null
}): PersonLine => ({
  id: row.id,
  countyRef: row.countyRef,
  name: `${row.givenName} ${row.familyName}`,
  birthYear: row.birthYear,
})

/** Likely pairs as last found, without those that were merged or told apart since, and the newest merges.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function listDuplicates(actor: Actor, countyId: string): Promise<DuplicatesPage> {
  assertCan(actor, 'importData', countyId)
  const [search, apart, merges] = await Promise.all([
    db().duplicateSearch.findUnique({ where: { countyId } }),
    db().notTheSame.findMany({ where: { countyId }, select: { firstId: true, secondId: true } }),
    db().peopleMerge.findMany({ where: { countyId }, orderBy: { mergedAt: 'desc' }, take: 20 }),
  ])
  const toldApart = new Set(apart.map((pair) => `${pair.firstId} ${pair.secondId}`))
  const found = ((search?.pairs ?? []) as unknown as LikelyPair[]).filter(
    (pair) => !toldApart.has([pair.first, pair.second].sort().join(' ')),
  )
  const ids = [...found.flatMap((p) => [p.first, p.second]), ...merges.flatMap((m) => [m.keptId, m.mergedId])]
  const people = await db().pollWorker.findMany({
    where: { countyId, id: { in: [...new Set(ids)] } },
    select: {
      id: true,
      countyRef: true,
      givenName: true,
      familyName: true,
      birthYear: true,
      mergedIntoId: true,
    },
  })
  const byId = new Map(people.map((person) => [person.id, person]))
  const open = found.filter((p) =>
    [p.first, p.second].every((id) => byId.has(id) && byId.get(id)!.mergedIntoId === null),
  )
  return {
    search: search && { finishedAt: search.finishedAt, askedAt: search.askedAt, people: search.people },
    pairs: open.slice(0, PAGE).map((p) => ({
      first: line(byId.get(p.first)!),
      second: line(byId.get(p.second)!),
      nameSimilarity: p.nameSimilarity,
      agree: p.agree,
    })),
    open: open.length,
    merges: merges.flatMap((m) => {
      const [kept, merged] = [byId.get(m.keptId), byId.get(m.mergedId)]
      return kept && merged
        ? [{ id: m.id, kept: line(kept), merged: line(merged), mergedAt: m.mergedAt, undoneAt: m.undoneAt }]
        : []
    }),
  }
}

export interface PairSide {
  id: string
  countyRef: string
  name: string
  /** By field; absent where the actor may not read it. */
  values: Record<string, unknown>
  addressProtected: boolean
  facts: number
  attempts: number
  seats: number
  hasAccount: boolean
  createdAt: Date
}

/** Two records side by side, only what the actor may read. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getPair(
  actor: Actor,
  countyId: string,
  ids: readonly [string, string],
): Promise<[PairSide, PairSide]> {
  assertCan(actor, 'importData', countyId)
  const missing = new AppError('NOT_FOUND', {
    userMessage: 'There is no such pair of people in this county.',
  })
  if (ids[0] === ids[1] || !ids.every((id) => /^[0-9a-f-]{36}$/.test(id))) throw missing
  const rows = await db().pollWorker.findMany({
    where: { countyId, id: { in: [...ids] }, mergedIntoId: null },
    include: {
      account: { select: { id: true } },
      _count: { select: { facts: true, attempts: true, seatings: true } },
    },
  })
  const sides = ids.map((id): PairSide => {
    const row = rows.find((r) => r.id === id)
    if (!row) throw missing
    const hidden = row.confidentialAddress && !can(actor, 'readConfidentialAddress', countyId)
    return {
      id,
      countyRef: row.countyRef,
      name: `${row.givenName} ${row.familyName}`,
      values: Object.fromEntries(
        MERGE_FIELDS.filter(({ permission }) => permission === null || can(actor, permission, countyId)).map(
          ({ key }) => [key, key === 'homeAddress' && hidden ? null : row[key]],
        ),
      ),
      addressProtected: row.confidentialAddress,
      facts: row._count.facts,
      attempts: row._count.attempts,
      seats: row._count.seatings,
      hasAccount: row.account !== null,
      createdAt: row.createdAt,
    }
  })
  return sides as [PairSide, PairSide]
}
