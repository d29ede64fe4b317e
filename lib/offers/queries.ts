import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { addDays, type CivilDate, earlierOf } from '@/lib/kernel/dates'
import { type ElectionHead, getElectionHead } from '@/lib/roster/queries'
import type { NewestOrders } from '@/lib/roster/queries-packet'
import { SILENT_MS } from './commands-send'
import { OFFER_STATES, type OfferState } from './core/status'
import {
  countLettersToOffer,
  countPeopleToOffer,
  latestRosters,
  listStandings,
  listStray,
  type OfferStanding,
} from './facts-rosters'
import { listLetterOrders } from './queries-letters'
import { type OfferSettings, offerSettingsOf } from './schema'

/** What staff see of offers. */

export const OFFERS_PAGE = 40
const DEFAULT_DAYS = 10

export type OfferCounts = Record<OfferState, number>
const noCounts = (): OfferCounts => Object.fromEntries(OFFER_STATES.map((state) => [state, 0])) as OfferCounts

/** Places of one page of the progress by place. */
const PLACES_PAGE = 60

export interface PlaceProgress {
  id: string
  code: string
  name: string
  /** Seats of the place, and how the offers of the people on them stand; the rest is empty or not offered yet. */
  seats: number
  counts: OfferCounts
}

export interface OfferLine {
  id: string
  person: string
  phone: string | null
  position: string
  place: string
  servesOn: CivilDate
  /** Which part of the day. */
  shift: string
  state: OfferState
  answerBy: CivilDate
  since: Date
  calls: number
  letterReturned: boolean
  channel: 'mail' | 'letter'
}

export const SHOWS = ['waiting', ...OFFER_STATES, 'returned', 'all'] as const
export type Show = (typeof SHOWS)[number]

/** How far a sending is. */
export interface SendingState {
  people: number
  done: number
  status: 'running' | 'done' | 'stopped' | 'silent'
  cancelAsked: boolean
}
export interface SendingView extends SendingState {
  id: string
  createdAt: Date
  answerBy: CivilDate
  /** Whom only a letter reached, and the letters that were made for print. */
  letters: number
  orders: NewestOrders
}

export interface OffersPage {
  head: ElectionHead
  timeZone: string
  settings: OfferSettings
  /** Null: no roster is published. */
  toSend: { people: number; letters: number; stray: number } | null
  draftWaits: boolean
  suggestedAnswerBy: CivilDate
  counts: OfferCounts
  seats: number
  /** One page of the places, by code. */
  places: PlaceProgress[]
  placePage: number
  placePages: number
  /** The place that the filter names. */
  chosen: string | null
  lines: OfferLine[]
  matching: number
  page: number
  pages: number
  sendings: SendingView[]
}

const fits = (show: Show) => (o: OfferStanding) =>
  show === 'all' ||
  (show === 'waiting'
    ? o.state === 'open' || o.state === 'overdue'
    : show === 'returned'
      ? o.letterReturned && o.state !== 'withdrawn'
      : o.state === show)

/** Longest waiting first: whose deadline is over, then the nearest deadline. */
const byNeed = (a: OfferStanding, b: OfferStanding) =>
  a.answerBy < b.answerBy
    ? -1
    : a.answerBy > b.answerBy
      ? 1
      : a.since.getTime() - b.since.getTime() || (a.id < b.id ? -1 : 1)

/** The offers of an election: progress by place, and one page of those that a filter lets through.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function getOffersPage(
  actor: Actor,
  countyId: string,
  electionId: string,
  filter: OfferFilter & { page?: number; placePage?: number },
): Promise<OffersPage> {
  const head = await getElectionHead(actor, countyId, electionId)
  const [county, standings, rosters, seats, sendings] = await Promise.all([
    db().county.findUniqueOrThrow({ where: { id: countyId } }),
    listStandings(db(), electionId, head.today),
    latestRosters(db(), electionId),
    db().$queryRaw<{ id: string; code: string; name: string; seats: number }[]>`
      SELECT p.id, p.code, p.name, count(s.id)::int AS seats
      FROM "Seat" s JOIN "PollingPlace" p ON p.id = s."pollingPlaceId"
      WHERE s."electionId" = ${electionId}::uuid GROUP BY p.id ORDER BY p.code`,
    listSendings(electionId),
  ])
  const places = new Map(seats.map((p) => [p.id, { ...p, counts: noCounts() }]))
  const counts = noCounts()
  for (const o of standings) {
    counts[o.state]++
    const place = places.get(o.placeId)
    if (place) place.counts[o.state]++
  }
  const matching = matchingOf(standings, filter, await soughtIn(countyId, electionId, filter))
  const pages = Math.max(1, Math.ceil(matching.length / OFFERS_PAGE))
  const page = Math.min(pages, Math.max(1, filter.page ?? 1))
  const placePages = Math.max(1, Math.ceil(places.size / PLACES_PAGE))
  const placePage = Math.min(placePages, Math.max(1, Math.floor(filter.placePage ?? 1)))
  return {
    head,
    timeZone: county.timeZone,
    settings: offerSettingsOf(county.settings),
    toSend: rosters && {
      people: await countPeopleToOffer(db(), rosters),
      letters: await countLettersToOffer(db(), rosters),
      stray: (await listStray(db(), electionId, rosters, 10_000)).length,
    },
    draftWaits: rosters !== null && rosters.newest !== rosters.published,
    suggestedAnswerBy: earlierOf(addDays(head.today, DEFAULT_DAYS), addDays(head.heldOn, -1)),
    counts,
    seats: seats.reduce((sum, p) => sum + p.seats, 0),
    places: [...places.values()].slice((placePage - 1) * PLACES_PAGE, placePage * PLACES_PAGE),
    placePage,
    placePages,
    chosen: places.get(filter.placeId ?? '')?.name ?? null,
    lines: await linesOf(matching.slice((page - 1) * OFFERS_PAGE, page * OFFERS_PAGE)),
    matching: matching.length,
    page,
    pages,
    sendings,
  }
}

export interface OfferFilter {
  show: Show
  placeId?: string
  /** Part of a place's name, or its code. */
  at?: string
  /** Beginnings of a person's names, or the county's number. */
  name?: string
}

/** Who was made an offer and whose name has words that begin so; null: no name was asked for. */
async function namedIn(electionId: string, name: string | undefined): Promise<Set<string> | null> {
  const words = (name ?? '').trim().split(/\s+/).filter(Boolean).slice(0, 4)
  if (words.length === 0) return null
  const begins = (word: string) => ({ startsWith: word, mode: 'insensitive' as const })
  const people = await db().pollWorker.findMany({
    where: {
      offers: { some: { electionId } },
      AND: words.map((word) => ({
        OR: [{ familyName: begins(word) }, { givenName: begins(word) }, { countyRef: begins(word) }],
      })),
    },
    select: { id: true },
  })
  return new Set(people.map((p) => p.id))
}

const matchingOf = (
  standings: readonly OfferStanding[],
  filter: OfferFilter,
  sought: { at: ReadonlySet<string> | null; named: ReadonlySet<string> | null },
) =>
  standings
    .filter((o) => !sought.named || sought.named.has(o.pollWorkerId))
    .filter(fits(filter.show))
    .filter((o) => !filter.placeId || o.placeId === filter.placeId)
    .filter((o) => !sought.at || sought.at.has(o.placeId))
    .sort(byNeed)

/** The places and people that a filter asks for; each null where it asks for none. */
const soughtIn = async (countyId: string, electionId: string, filter: OfferFilter) => ({
  at: await placeIdsLike(countyId, filter.at),
  named: await namedIn(electionId, filter.name),
})

/** Null: nothing was asked for. */
async function placeIdsLike(countyId: string, at: string | undefined): Promise<ReadonlySet<string> | null> {
  const text = at?.trim()
  if (!text) return null
  const rows = await db().pollingPlace.findMany({
    where: {
      countyId,
      OR: [
        { name: { contains: text, mode: 'insensitive' } },
        { code: { equals: text, mode: 'insensitive' } },
      ],
    },
    select: { id: true },
  })
  return new Set(rows.map((row) => row.id))
}

/** Every offer that a filter lets through, for a file. @throws AppError NOT_FOUND, FORBIDDEN */
export async function listOfferLines(
  actor: Actor,
  countyId: string,
  electionId: string,
  filter: OfferFilter,
): Promise<{ head: ElectionHead; lines: OfferLine[] }> {
  const head = await getElectionHead(actor, countyId, electionId)
  const standings = await listStandings(db(), electionId, head.today)
  const sought = await soughtIn(countyId, electionId, filter)
  return { head, lines: await linesOf(matchingOf(standings, filter, sought)) }
}

async function linesOf(standings: OfferStanding[]): Promise<OfferLine[]> {
  const rows = new Map(
    (
      await db().offer.findMany({
        where: { id: { in: standings.map((o) => o.id) } },
        select: {
          id: true,
          shift: true,
          pollWorker: { select: { givenName: true, familyName: true, phone: true } },
          seat: {
            select: {
              servesOn: true,
              position: { select: { nameEn: true } },
              pollingPlace: { select: { name: true } },
            },
          },
        },
      })
    ).map((row) => [row.id, row]),
  )
  return standings.map((o) => {
    const row = rows.get(o.id)!
    return {
      ...o,
      person: `${row.pollWorker.givenName} ${row.pollWorker.familyName}`,
      phone: row.pollWorker.phone,
      position: row.seat.position.nameEn,
      place: row.seat.pollingPlace.name,
      servesOn: row.seat.servesOn as CivilDate,
      shift: row.shift,
    }
  })
}

const newestSendings = (electionId: string, take: number) =>
  db().offerSending.findMany({
    where: { electionId },
    orderBy: [{ createdAt: 'desc' }, { id: 'desc' }],
    take,
  })

const stateOf = (row: Awaited<ReturnType<typeof newestSendings>>[number]): SendingState => ({
  people: row.people,
  done: row.done,
  cancelAsked: row.cancelAsked,
  status: row.finishedAt
    ? row.cancelAsked && row.done < row.people
      ? 'stopped'
      : 'done'
    : row.heartbeatAt.getTime() < systemClock.now().getTime() - SILENT_MS
      ? 'silent'
      : 'running',
})

async function listSendings(electionId: string): Promise<SendingView[]> {
  const rows = await newestSendings(electionId, 10)
  const letters = await db().$queryRaw<{ id: string; letters: number }[]>`
    SELECT o."sendingId" AS id, count(DISTINCT o."pollWorkerId")::int AS letters
    FROM "Offer" o JOIN LATERAL (SELECT e.via FROM "OfferEvent" e WHERE e."offerId" = o.id AND e.kind = 'offered'
      ORDER BY e.sequence DESC LIMIT 1) f ON f.via = 'letter'
    WHERE o."electionId" = ${electionId}::uuid AND o."sendingId" IS NOT NULL GROUP BY 1`
  const lettersOf = new Map(letters.map((l) => [l.id, l.letters]))
  return Promise.all(
    rows.map(async (row) => ({
      ...stateOf(row),
      id: row.id,
      createdAt: row.createdAt,
      answerBy: row.answerBy as CivilDate,
      letters: lettersOf.get(row.id) ?? 0,
      orders: await listLetterOrders(electionId, row.id),
    })),
  )
}

/** How far the newest sending is, for a page that asks again and again. */
export async function getSendingProgress(
  actor: Actor,
  countyId: string,
  electionId: string,
): Promise<SendingState | null> {
  await getElectionHead(actor, countyId, electionId)
  const [row] = await newestSendings(electionId, 1)
  return row ? stateOf(row) : null
}
