import { overPartyAfter, partyKey, type Sitting } from '@/lib/crews/core/party'
import { mostOfOneParty } from '@/lib/crews/core/seats'
import { loadCrewRules } from '@/lib/crews/facts'
import type { Tx } from '@/lib/db/client'
import { AppError } from '@/lib/kernel/errors'
import { rulesOf } from './facts'

/** What a county asks of a crew as a whole: all who sit in one place on one day. */

export interface CrewFault {
  placeId: string
  placeCode: string
  placeName: string
  servesOn: string
  /** Students are counted against `studentsPerCrew` of the county's rules; a party against its crew rules. */
  kind: 'students' | 'party'
  /** People who count, and the most that may. */
  people: number
  most: number
  /** Of `party`: whose. */
  party: string | null
}

/** The crews of a roster that break the county's own limits, by place and day. Two grouped reads. */
export async function listCrewFaults(
  tx: Tx,
  roster: { id: string; countyId: string; electionId: string },
): Promise<CrewFault[]> {
  const { studentsPerCrew } = await rulesOf(tx, roster.countyId)
  const table = await bindingTable(tx, roster.countyId)
  if (studentsPerCrew === null && !table.sameParty) return []
  const rows = await tx.$queryRaw<
    {
      placeId: string
      placeCode: string
      placeName: string
      servesOn: string
      party: string | null
      people: number
      students: number
    }[]
  >`
    SELECT p.id AS "placeId", p.code AS "placeCode", p.name AS "placeName", s."servesOn", w.party,
      count(DISTINCT w.id)::int AS people, count(DISTINCT w.id) FILTER (WHERE w.student)::int AS students
    FROM "Seating" g JOIN "Seat" s ON s.id = g."seatId" JOIN "PollingPlace" p ON p.id = s."pollingPlaceId"
      JOIN "PollWorker" w ON w.id = g."pollWorkerId"
    WHERE g."rosterId" = ${roster.id}::uuid GROUP BY p.id, s."servesOn", w.party ORDER BY p.code, s."servesOn", w.party`
  const sizes = table.sameParty
    ? await tx.$queryRaw<{ placeId: string; servesOn: string; seats: number }[]>`
        SELECT "pollingPlaceId" AS "placeId", "servesOn", count(*)::int AS seats FROM "Seat"
        WHERE "electionId" = ${roster.electionId}::uuid GROUP BY 1, 2`
    : []
  const sizeOf = new Map(sizes.map((s) => [`${s.placeId} ${s.servesOn}`, s.seats]))
  const faults: CrewFault[] = []
  const crews = new Map<string, typeof rows>()
  for (const row of rows) {
    const key = `${row.placeId} ${row.servesOn}`
    crews.set(key, [...(crews.get(key) ?? []), row])
  }
  for (const [key, own] of crews) {
    const { placeId, placeCode, placeName, servesOn } = own[0]!
    const crew = { placeId, placeCode, placeName, servesOn }
    const students = own.reduce((sum, row) => sum + row.students, 0)
    if (studentsPerCrew !== null && students > studentsPerCrew)
      faults.push({ ...crew, kind: 'students', people: students, most: studentsPerCrew, party: null })
    const most = mostOfOneParty(table, sizeOf.get(key) ?? 0)
    if (most !== null)
      for (const { party, people } of byParty(own))
        if (people > most) faults.push({ ...crew, kind: 'party', people, most, party })
  }
  return faults
}

/** The county's rule table; the shipped template binds nobody. */
async function bindingTable(tx: Tx, countyId: string) {
  const { version, ruleTable } = await loadCrewRules(tx, countyId)
  return version === 0 ? { ...ruleTable, sameParty: undefined } : ruleTable
}

/** People by party, its spellings together; without those of none. */
function byParty(rows: readonly { party: string | null; people: number }[]) {
  const parties = new Map<string, { party: string; people: number }>()
  for (const { party, people } of rows) {
    const key = partyKey(party)
    if (key !== null)
      parties.set(key, {
        party: parties.get(key)?.party ?? party!.trim(),
        people: (parties.get(key)?.people ?? 0) + people,
      })
  }
  return [...parties.values()]
}

/** Somebody who would leave or join a crew. */
export interface CrewMember {
  placeId: string
  servesOn: string
  workerId: string
}

/** For some places: which sentences a change of their crews calls for, because a crew would have more of one party
 *  than the county's rules allow. Null where no rule says so. For those who may read parties. */
export async function loadPartyJudge(
  tx: Tx,
  roster: { id: string; countyId: string; electionId: string },
  placeIds: readonly string[],
  workerIds: readonly string[],
): Promise<((change: { leave: CrewMember[]; come: CrewMember[] }) => string[]) | null> {
  const table = await bindingTable(tx, roster.countyId)
  if (!table.sameParty) return null
  const seats = await tx.seat.findMany({
    where: { electionId: roster.electionId, pollingPlaceId: { in: [...placeIds] } },
    select: {
      pollingPlaceId: true,
      servesOn: true,
      pollingPlace: { select: { code: true, name: true } },
      seatings: { where: { rosterId: roster.id }, select: { pollWorkerId: true } },
    },
  })
  const seated = seats.flatMap((seat) => seat.seatings.map((row) => row.pollWorkerId))
  const partyOf = new Map(
    (
      await tx.pollWorker.findMany({
        where: { countyId: roster.countyId, id: { in: [...new Set([...seated, ...workerIds])] } },
        select: { id: true, party: true },
      })
    ).map((worker) => [worker.id, worker.party]),
  )
  const crewOf = (of: { placeId: string; servesOn: string }) => `${of.placeId} ${of.servesOn}`
  const sitting = (m: CrewMember): Sitting => ({
    crew: crewOf(m),
    workerId: m.workerId,
    party: partyOf.get(m.workerId) ?? null,
  })
  const [sizes, names] = [new Map<string, number>(), new Map<string, string>()]
  const sittings: Sitting[] = []
  for (const { pollingPlaceId: placeId, servesOn, pollingPlace, seatings } of seats) {
    const crew = crewOf({ placeId, servesOn })
    sizes.set(crew, (sizes.get(crew) ?? 0) + 1)
    names.set(crew, `${pollingPlace.code} ${pollingPlace.name}`)
    sittings.push(...seatings.map((row) => sitting({ placeId, servesOn, workerId: row.pollWorkerId })))
  }
  const mostIn = (crew: string) => mostOfOneParty(table, sizes.get(crew) ?? 0)
  return ({ leave, come }) =>
    overPartyAfter(sittings, mostIn, { leave: leave.map(sitting), come: come.map(sitting) }).map(
      ({ crew, party, people, most }) =>
        `${names.get(crew)} would have ${people} of party ${party}; your crew rules allow ${most} in a crew of ${sizes.get(crew)}.`,
    )
}

/** @throws AppError INVALID_INPUT where a student in a crew is one more than the county lets serve together. */
export async function assertStudentsFit(
  tx: Tx,
  roster: { id: string; countyId: string },
  seats: readonly { pollingPlaceId: string; servesOn: string }[],
): Promise<void> {
  const { studentsPerCrew } = await rulesOf(tx, roster.countyId)
  if (studentsPerCrew === null) return
  for (const { pollingPlaceId, servesOn } of seats) {
    const students = await tx.seating.findMany({
      where: { rosterId: roster.id, seat: { pollingPlaceId, servesOn }, pollWorker: { student: true } },
      select: { pollWorkerId: true },
      distinct: ['pollWorkerId'],
    })
    if (students.length > studentsPerCrew)
      throw new AppError('INVALID_INPUT', {
        userMessage: `Your county lets ${studentsPerCrew} ${studentsPerCrew === 1 ? 'student' : 'students'} serve in one crew, and this one would have ${students.length}. Nothing was changed.`,
      })
  }
}
