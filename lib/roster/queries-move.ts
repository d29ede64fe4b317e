import type { Actor } from '@/lib/auth/actor'
import { can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { dateInWords } from '@/lib/kernel/date-words'
import type { CivilDate } from '@/lib/kernel/dates'
import { overlap, partIn } from '@/lib/kernel/day-parts'
import { AppError } from '@/lib/kernel/errors'
import { metresBetween } from './core/eligibility'
import { loadSmallGround } from './facts'
import { type ElectionHead, getElectionHead } from './queries'
import { type CrewJudge, loadCrewJudge, type Warnings } from './queries-crews'
import type { RosterInstance } from './schema'
import { partOf, readSpot, spotId } from './spot'
import { refusalOf, SHIFT_WORDS } from './words'

/** What a move would do, worked out before it is made: whether the rules allow it, what it costs in travel, which seat
 *  it leaves empty. The commands check again. */

export interface MoveOption extends Warnings {
  seatId: string
  /** `put`: the seat is empty. `swap`: the two people change seats. `no`: not allowed; `refusals` says why. */
  way: 'put' | 'swap' | 'no'
  refusals: string[]
  /** Travel of all concerned after the move minus before, one way; null where an address is protected or unknown. */
  changeKm: number | null
  /** The person who would come the other way. */
  other: string | null
}

export interface Moving {
  head: ElectionHead
  seat: { id: string; text: string; placeId: string; placeCode: string; legalMinimum: boolean; lead: boolean }
  person: { id: string; name: string }
  /** Seat → what moving there would do. */
  options: Map<string, MoveOption>
}

const seatColumns = {
  id: true,
  electionId: true,
  pollingPlaceId: true,
  servesOn: true,
  shift: true,
  number: true,
  legalMinimum: true,
  position: { select: { nameEn: true, rank: true } },
  pollingPlace: { select: { id: true, code: true, name: true } },
} as const

/** A seat in words; `part`: the half of its day, where it is about one. On another day than election day (`heldOn`), with
 *  that day: a site that opens early has the same seats on many. */
export const seatText = (
  seat: {
    number: number
    shift: string
    servesOn: string
    position: { nameEn: string }
    pollingPlace: { code: string; name: string }
  },
  heldOn: string,
  part: string = seat.shift,
): string =>
  [
    `${seat.position.nameEn}${seat.number > 1 ? ` ${seat.number}` : ''}${part === 'full' ? '' : `, ${SHIFT_WORDS[part]}`}`,
    ...(seat.servesOn === heldOn ? [] : [`on ${dateInWords(seat.servesOn as CivilDate, 'en')}`]),
    `at ${seat.pollingPlace.code} ${seat.pollingPlace.name}`,
  ].join(' ')

/** Seats of an election by the ids of spots: each with the part of the day that is meant. */
async function spotRows(electionId: string, ids: string[]) {
  const spots = ids.flatMap((id) => readSpot(id) ?? [])
  const rows = await db().seat.findMany({
    where: { electionId, id: { in: spots.map((s) => s.seatId) } },
    select: seatColumns,
  })
  const byId = new Map(rows.map((row) => [row.id, row]))
  return spots.flatMap(({ seatId, half }) => {
    const row = byId.get(seatId)
    if (!row) return []
    const part = partOf(row, half)
    return [{ ...row, id: spotId(row, part), seatId, part }]
  })
}
type SpotRow = Awaited<ReturnType<typeof spotRows>>[number]

const seatingRows = (rosterId: string, where: { seatIds?: string[]; workerIds?: string[] }) =>
  db().seating.findMany({
    where: {
      rosterId,
      ...(where.seatIds ? { seatId: { in: where.seatIds } } : {}),
      ...(where.workerIds ? { pollWorkerId: { in: where.workerIds } } : {}),
    },
    select: {
      id: true,
      seatId: true,
      pollWorkerId: true,
      locked: true,
      morningOn: true,
      afternoonOn: true,
      pollWorker: { select: { id: true, givenName: true, familyName: true, confidentialAddress: true } },
    },
  })
type SeatingRow = Awaited<ReturnType<typeof seatingRows>>[number]

/** For the person of one spot: what moving into each of the others would do. Null where nobody sits there (any
 *  more) or the seat is locked. Reads what concerns these seats only, whatever the county's size.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function getMoving(
  actor: Actor,
  countyId: string,
  electionId: string,
  fromSeatId: string,
  toSeatIds: readonly string[],
): Promise<Moving | null> {
  const head = await getElectionHead(actor, countyId, electionId)
  const rosterId = head.roster?.id
  if (!rosterId || !readSpot(fromSeatId)) return null
  const seats = await spotRows(electionId, [...new Set([fromSeatId, ...toSeatIds])])
  const sitting = await seatingRows(rosterId, { seatIds: seats.map((s) => s.seatId) })
  const from = seats.find((s) => s.id === fromSeatId)
  if (!from) throw new AppError('NOT_FOUND', { userMessage: 'There is no such seat.' })
  const rowsIn = (spot: SpotRow) =>
    sitting.filter((row) => row.seatId === spot.seatId && overlap(partIn(row), spot.part))
  const [mover] = rowsIn(from)
  if (!mover || mover.locked || partIn(mover) !== from.part) return null
  const workerIds = [...new Set(sitting.map((s) => s.pollWorkerId))]
  const placeIds = [...new Set(seats.map((s) => s.pollingPlaceId))]
  const [instance, all, crewJudge] = await Promise.all([
    loadSmallGround(
      db(),
      seats.map((s) => s.seatId),
      workerIds,
    ),
    seatingRows(rosterId, { workerIds }),
    loadCrewJudge(actor, { id: rosterId, countyId, electionId }, placeIds, workerIds),
  ])
  const judge = judgeOf(instance, all, crewJudge, can(actor, 'readConfidentialAddress', countyId))
  return {
    head,
    seat: {
      id: from.id,
      text: seatText(from, head.heldOn, from.part),
      placeId: from.pollingPlace.id,
      placeCode: from.pollingPlace.code,
      legalMinimum: from.legalMinimum,
      lead: from.position.rank === 1,
    },
    person: { id: mover.pollWorkerId, name: nameOf(mover) },
    options: new Map(
      seats
        .filter((s) => s.id !== from.id)
        .map((to) => [to.id, judge(from, mover, to, rowsIn(to).filter((row) => row !== mover)[0] ?? null)]),
    ),
  }
}

const nameOf = (row: SeatingRow) => `${row.pollWorker.givenName} ${row.pollWorker.familyName}`

function judgeOf(
  instance: RosterInstance,
  all: SeatingRow[],
  crewJudge: CrewJudge,
  mayReadProtected: boolean,
) {
  const homeOf = new Map(instance.people.map((p) => [p.id, p.at]))
  const placeAt = new Map(instance.places.map((p) => [p.id, p.at]))
  const protectedFrom = (row: SeatingRow) => row.pollWorker.confidentialAddress && !mayReadProtected
  /** One way in metres; null where it must not be told or isn't known. */
  const metres = (row: SeatingRow, seat: SpotRow): number | null => {
    const home = homeOf.get(row.pollWorkerId)
    const there = placeAt.get(seat.pollingPlaceId)
    return protectedFrom(row) || !home || !there ? null : metresBetween(home, there)
  }
  /** Another seat of the person at that time, besides the one that they leave. */
  const busy = (row: SeatingRow, to: SpotRow): string[] => {
    const clash = all.some(
      (s) =>
        s.pollWorkerId === row.pollWorkerId &&
        s.id !== row.id &&
        (s.morningOn ?? s.afternoonOn) === to.servesOn &&
        overlap(partIn(s), to.part),
    )
    return clash ? [`${nameOf(row)} has another seat at that time.`] : []
  }
  const refused = (row: SeatingRow, to: SpotRow): string[] => {
    const refusal = refusalOf(
      instance,
      { id: row.pollWorkerId, name: nameOf(row), addressProtected: protectedFrom(row) },
      { id: to.seatId, part: to.part, positionName: to.position.nameEn, servesOn: to.servesOn },
    )
    return refusal ? [refusal.sentence] : []
  }
  const member = (row: SeatingRow, spot: SpotRow) => ({
    placeId: spot.pollingPlaceId,
    servesOn: spot.servesOn,
    workerId: row.pollWorkerId,
    spot: spot.id,
  })
  return (from: SpotRow, mover: SeatingRow, to: SpotRow, there: SeatingRow | null): MoveOption => {
    const refusals = [...refused(mover, to), ...busy(mover, to)]
    if (there?.locked) refusals.push(`This seat is locked for ${nameOf(there)}.`)
    else if (there) refusals.push(...refused(there, from), ...busy(there, from))
    const legs = [
      [metres(mover, to), metres(mover, from)],
      ...(there ? [[metres(there, from), metres(there, to)]] : []),
    ]
    const change = {
      leave: [member(mover, from), ...(there ? [member(there, to)] : [])],
      come: [member(mover, to), ...(there ? [member(there, from)] : [])],
    }
    const known = legs.every(([after, before]) => after !== null && before !== null)
    return {
      seatId: to.id,
      way: refusals.length > 0 ? 'no' : there ? 'swap' : 'put',
      refusals,
      changeKm: known ? legs.reduce((sum, [after, before]) => sum + (after! - before!), 0) / 1000 : null,
      other: there ? nameOf(there) : null,
      ...crewJudge(change),
    }
  }
}
