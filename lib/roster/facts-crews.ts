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
  const [{ studentsPerCrew }, { version, ruleTable }] = [
    await rulesOf(tx, roster.countyId),
    await loadCrewRules(tx, roster.countyId),
  ]
  // The shipped template binds nobody.
  const table = version === 0 ? { ...ruleTable, sameParty: undefined } : ruleTable
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
      for (const row of own)
        if (row.party !== null && row.people > most)
          faults.push({ ...crew, kind: 'party', people: row.people, most, party: row.party })
  }
  return faults
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
