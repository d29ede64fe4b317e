import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { filledSeats } from '@/lib/elections/facts-filled'
import { type PositionFigures, positionFigures } from '@/lib/elections/queries'
import { systemClock } from '@/lib/kernel/clock'
import { type CivilDate, civilDateAt, daysBetween } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { type Area, inArea } from '@/lib/places/core/area'
import { listPlaces, type PlacePoint } from '@/lib/places/queries'
import { ENDED_UNEXPECTEDLY, silentSince } from './commands-run'
import { latestRoster, listMisplaced, markText } from './facts'
import { RunOutcome } from './outcome'
import type { HalfOrFull } from './schema'
import { readSpot, type SpotOf, spotId, spotsOf } from './spot'

export const PLACES_PAGE = 12

export interface RunView {
  id: string
  status: 'queued' | 'running' | 'done' | 'failed' | 'cancelled'
  stage: string
  /** 0 to 1. */
  progress: number
  cancelAsked: boolean
  createdAt: Date
  finishedAt: Date | null
  waitedSeconds: number
  failure: string | null
  outcome: RunOutcome | null
}

/** `halfEmpty`: somebody takes the other half of this seat's day, nobody this one. */
export type SeatState = 'filled' | 'locked' | 'empty' | 'halfEmpty' | 'misplaced'

/** What one person takes: a seat, or one half of a seat that two people share (spot.ts). */
export interface BoardSeat {
  /** Of the spot. */
  id: string
  seatId: string
  placeId: string
  positionKey: string
  positionName: string
  number: number
  servesOn: CivilDate
  /** Which part of the day this spot takes. */
  shift: HalfOrFull
  /** One half of a whole-day seat. */
  isHalf: boolean
  legalMinimum: boolean
  state: SeatState
  person: { id: string; name: string } | null
  /** Why it is empty, from the last run. */
  reason: string | null
}

export interface BoardPlace extends PlacePoint {
  seats: number
  filled: number
  misplaced: number
  /** The filter lets it through. */
  matches: boolean
}

export interface ElectionHead {
  id: string
  countyId: string
  countyName: string
  name: string
  heldOn: CivilDate
  today: CivilDate
  daysToGo: number
  mayChange: boolean
  /** What the forms of the page send back. */
  mark: string
  roster: { id: string; version: number; publishedAt: Date | null } | null
}

/** The election of a page, with the newest roster. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getElectionHead(
  actor: Actor,
  countyId: string,
  electionId: string,
): Promise<ElectionHead> {
  const election = /^[0-9a-f-]{36}$/.test(electionId)
    ? await db().election.findUnique({ where: { id: electionId }, include: { county: true } })
    : null
  if (!election || election.countyId !== countyId)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such election, or it belongs to another county.',
    })
  assertCan(actor, 'readRoster', countyId)
  const roster = await latestRoster(db(), electionId)
  const today = civilDateAt(systemClock.now(), election.county.timeZone)
  return {
    id: election.id,
    countyId,
    countyName: election.county.name,
    name: election.name,
    heldOn: election.heldOn as CivilDate,
    today,
    daysToGo: daysBetween(today, election.heldOn as CivilDate),
    mayChange: can(actor, 'changeRoster', countyId),
    mark: markText({ rosterId: roster?.id ?? null, revision: roster?.revision ?? 0 }),
    roster: roster ? { id: roster.id, version: roster.version, publishedAt: roster.publishedAt } : null,
  }
}

const viewOf = (run: {
  id: string
  status: RunView['status']
  stage: string
  progress: number
  cancelAsked: boolean
  createdAt: Date
  finishedAt: Date | null
  heartbeatAt: Date | null
  failure: string | null
}): Omit<RunView, 'outcome'> => {
  const now = systemClock.now()
  const silent = run.status === 'running' && run.heartbeatAt !== null && run.heartbeatAt < silentSince(now)
  return {
    id: run.id,
    status: silent ? 'failed' : run.status,
    stage: run.stage,
    progress: run.progress,
    cancelAsked: run.cancelAsked,
    createdAt: run.createdAt,
    finishedAt: run.finishedAt,
    waitedSeconds: Math.round((now.getTime() - run.createdAt.getTime()) / 1000),
    failure: silent ? ENDED_UNEXPECTEDLY : run.failure,
  }
}

/** What runs found, by the run's id. It is written once and large (a line for each empty seat of a big county: 2 MB), so
 *  each process keeps the last few as read. */
const found = new Map<string, RunOutcome | null>()
const MOST_FOUND = 4

async function outcomeOf(runId: string): Promise<RunOutcome | null> {
  const kept = found.get(runId)
  if (kept !== undefined) return kept
  const run = await db().rosterRun.findUnique({ where: { id: runId }, select: { outcome: true } })
  const outcome = RunOutcome.safeParse(run?.outcome).data ?? null
  found.set(runId, outcome)
  if (found.size > MOST_FOUND) found.delete(found.keys().next().value!)
  return outcome
}

/** The newest run of an election, and the newest one that was finished (whose reasons and training list count). A run
 *  whose process fell silent is shown as failed. */
export async function getRuns(electionId: string): Promise<{ newest: RunView | null; done: RunView | null }> {
  const [newest, done] = await Promise.all([
    db().rosterRun.findFirst({
      where: { electionId },
      omit: { outcome: true },
      orderBy: [{ createdAt: 'desc' }, { id: 'desc' }],
    }),
    db().rosterRun.findFirst({
      where: { electionId, status: 'done' },
      omit: { outcome: true },
      orderBy: [{ finishedAt: 'desc' }, { id: 'desc' }],
    }),
  ])
  const whole = async (run: typeof newest): Promise<RunView | null> =>
    run && { ...viewOf(run), outcome: run.status === 'done' ? await outcomeOf(run.id) : null }
  return { newest: await whole(newest), done: await whole(done) }
}

export interface BoardFilter {
  placeId?: string
  /** Part of a place's name or code. */
  name?: string
  positionKey?: string
  show?: 'all' | 'empty' | 'misplaced'
  /** A part of the map. */
  area?: Area
  page?: number
}

export interface Board {
  head: ElectionHead
  positions: PositionFigures[]
  places: BoardPlace[]
  /** How many the filter lets through, and the crews of this page of them. */
  matching: number
  page: number
  pages: number
  crews: { place: BoardPlace; seats: BoardSeat[] }[]
  misplaced: number
  runs: { newest: RunView | null; done: RunView | null }
}

/** The roster board of an election: figures for all places, crews for one page of places. */
export async function getBoard(
  actor: Actor,
  countyId: string,
  electionId: string,
  filter: BoardFilter,
): Promise<Board> {
  const head = await getElectionHead(actor, countyId, electionId)
  const rosterId = head.roster?.id ?? null
  const [positions, points, counts, emptyAt, wrong, runs] = await Promise.all([
    positionFigures(countyId, head, rosterId),
    listPlaces(actor, countyId),
    db().$queryRaw<{ id: string; seats: number; filled: number }[]>`
      SELECT s."pollingPlaceId" AS id, count(s.id)::int AS seats, count(g.id)::int AS filled
      FROM "Seat" s LEFT JOIN ${filledSeats(rosterId)} g ON g.id = s.id
      WHERE s."electionId" = ${electionId}::uuid GROUP BY 1`,
    filter.positionKey
      ? db().$queryRaw<{ id: string; empty: number }[]>`
          SELECT s."pollingPlaceId" AS id, count(*) FILTER (WHERE g.id IS NULL)::int AS empty
          FROM "Seat" s JOIN "Position" p ON p.id = s."positionId" AND p.key = ${filter.positionKey}
          LEFT JOIN ${filledSeats(rosterId)} g ON g.id = s.id
          WHERE s."electionId" = ${electionId}::uuid GROUP BY 1`
      : null,
    rosterId ? listMisplaced(db(), rosterId) : [],
    getRuns(electionId),
  ])
  const wrongSpots = new Set(wrong)
  const wrongAt = new Map<string, number>()
  if (wrong.length > 0)
    for (const seat of await db().seat.findMany({
      where: { id: { in: wrong.map((id) => readSpot(id)!.seatId) } },
      select: { pollingPlaceId: true },
    }))
      wrongAt.set(seat.pollingPlaceId, (wrongAt.get(seat.pollingPlaceId) ?? 0) + 1)
  const countOf = new Map(counts.map((c) => [c.id, c]))
  const emptyOf = emptyAt && new Map(emptyAt.map((c) => [c.id, c.empty]))
  const name = (filter.name ?? '').trim().toLowerCase()
  const places = points.flatMap((p) => {
    const { seats = 0, filled = 0 } = countOf.get(p.id) ?? {}
    if (seats === 0) return []
    const misplaced = wrongAt.get(p.id) ?? 0
    const matches =
      (!filter.placeId || p.id === filter.placeId) &&
      (name === '' || p.name.toLowerCase().includes(name) || p.code.toLowerCase() === name) &&
      (!filter.area || inArea(filter.area, p)) &&
      (!emptyOf || emptyOf.has(p.id)) &&
      (filter.show !== 'empty' || (emptyOf ? (emptyOf.get(p.id) ?? 0) > 0 : filled < seats)) &&
      (filter.show !== 'misplaced' || misplaced > 0)
    return [{ ...p, seats, filled, misplaced, matches }]
  })
  const matching = places.filter((p) => p.matches)
  const pages = Math.max(1, Math.ceil(matching.length / PLACES_PAGE))
  const page = Math.min(pages, Math.max(1, filter.page ?? 1))
  const shown = matching.slice((page - 1) * PLACES_PAGE, page * PLACES_PAGE)
  const seats = await listBoardSeats(
    electionId,
    rosterId,
    shown.map((p) => p.id),
    wrongSpots,
    runs.done,
  )
  return {
    head,
    positions,
    places,
    matching: matching.length,
    page,
    pages,
    crews: shown.map((place) => ({ place, seats: seats.filter((seat) => seat.placeId === place.id) })),
    misplaced: wrong.length,
    runs,
  }
}

/** The seats of some places in the order in which a crew is read: day, position, number, shift. A seat that two people
 *  share, or that has one half empty, is two spots one after the other. */
export async function listBoardSeats(
  electionId: string,
  rosterId: string | null,
  placeIds: string[],
  wrongSpots: ReadonlySet<string>,
  done: RunView | null,
): Promise<BoardSeat[]> {
  const rows = await db().seat.findMany({
    where: { electionId, pollingPlaceId: { in: placeIds } },
    include: {
      position: true,
      seatings: {
        where: { rosterId: rosterId ?? '00000000-0000-0000-0000-000000000000' },
        include: { pollWorker: { select: { id: true, givenName: true, familyName: true } } },
      },
    },
    orderBy: [{ servesOn: 'asc' }, { position: { rank: 'asc' } }, { number: 'asc' }, { shift: 'desc' }],
  })
  const reasons = new Map(done?.outcome?.empty.map((e) => [e.seatId, e.reason]))
  return rows.flatMap((row) => spotsOf(row, row.seatings).map((spot) => boardSeat(row, spot)))

  function boardSeat(
    row: (typeof rows)[number],
    { part, sitting }: SpotOf<(typeof rows)[number]['seatings'][number]>,
  ) {
    const id = spotId(row, part)
    const isHalf = id !== row.id
    const worker = sitting?.pollWorker
    return {
      id,
      seatId: row.id,
      isHalf,
      placeId: row.pollingPlaceId,
      positionKey: row.position.key,
      positionName: row.position.nameEn,
      number: row.number,
      servesOn: row.servesOn as CivilDate,
      shift: part,
      legalMinimum: row.legalMinimum,
      state: sitting
        ? wrongSpots.has(id)
          ? 'misplaced'
          : sitting.locked
            ? 'locked'
            : 'filled'
        : isHalf
          ? 'halfEmpty'
          : 'empty',
      person: worker ? { id: worker.id, name: `${worker.givenName} ${worker.familyName}` } : null,
      reason: sitting ? null : (reasons.get(row.id) ?? emptyWithoutRun(done)),
    } satisfies BoardSeat
  }
}

/** Before the first run there is nothing to explain. */
const emptyWithoutRun = (done: RunView | null): string | null =>
  done ? 'Emptied since the last run. Run “Fill the seats” again, or choose a person.' : null
