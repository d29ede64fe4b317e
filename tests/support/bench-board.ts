import type { Actor } from '@/lib/auth/actor'
import { getCrews } from '@/lib/crews/queries'
import { db } from '@/lib/db/client'
import { getOffersPage } from '@/lib/offers/queries'
import { listPlacePage } from '@/lib/places/queries'
import { getLapses } from '@/lib/reminders/queries'
import { emptySeat, moveSeat, seatPerson } from '@/lib/roster/commands'
import { getBoard } from '@/lib/roster/queries'
import { listChanges } from '@/lib/roster/queries-changes'
import { getMoving } from '@/lib/roster/queries-move'
import { getRosterPaper } from '@/lib/roster/queries-papers'
import { getSeatPage } from '@/lib/roster/queries-seat'

/** The board's lines of `npm run bench -- office`: a roster with a person in every seat for which there is one, and a
 *  clerk who moves people on it. */
export async function boardWorks(
  clerk: Actor,
  countyId: string,
  electionId: string,
): Promise<[string, (i: number) => Promise<unknown>][]> {
  const roster = await db().roster.create({ data: { countyId, electionId, version: 1 } })
  // One seat in twenty stays empty, so that there is somewhere to move to.
  const filled = await db().$executeRaw`
    WITH seat AS (
      SELECT s.id, s."servesOn", p."certificateKey", row_number() OVER (PARTITION BY p."certificateKey" ORDER BY s.id) AS n
      FROM "Seat" s JOIN "Position" p ON p.id = s."positionId"
      WHERE s."electionId" = ${electionId}::uuid AND s.shift = 'full'),
    holder AS (
      SELECT DISTINCT ON (c."pollWorkerId") c."pollWorkerId" AS id, c."certificateKey"
      FROM "CertificateSpan" c JOIN "PollWorker" w ON w.id = c."pollWorkerId" AND w.active AND w."offersShift" = 'full'
      WHERE c."countyId" = ${countyId} ORDER BY c."pollWorkerId", md5(c."certificateKey" || c."pollWorkerId"::text)),
    ranked AS (SELECT id, "certificateKey", row_number() OVER (PARTITION BY "certificateKey" ORDER BY id) AS n FROM holder)
    INSERT INTO "Seating" (id, "countyId", "rosterId", "seatId", "pollWorkerId", locked, "morningOn", "afternoonOn")
    SELECT gen_random_uuid(), ${countyId}, ${roster.id}::uuid, s.id, r.id, false, s."servesOn", s."servesOn"
    FROM seat s JOIN ranked r ON r."certificateKey" = s."certificateKey" AND r.n = s.n WHERE s.n % 20 <> 0`
  await db().$executeRawUnsafe('ANALYZE')
  const seats = await db().seat.count({ where: { electionId } })
  console.log(`board: ${filled} of ${seats} seats filled\n`)
  const mark = async () => {
    const { id, revision } = await db().roster.findUniqueOrThrow({ where: { id: roster.id } })
    return `${id}:${revision}`
  }
  const pairs = await movablePairs(electionId, roster.id)
  const first = (i: number) => pairs[i % pairs.length]!
  const board = await getBoard(clerk, countyId, electionId, {})
  const shown = board.crews.flatMap((crew) => crew.seats.map((seat) => seat.id))
  return [
    ['board: the first page', () => getBoard(clerk, countyId, electionId, {})],
    ['board: places with empty seats', () => getBoard(clerk, countyId, electionId, { show: 'empty' })],
    ['board: what another clerk did', () => listChanges(clerk, countyId, electionId, `${roster.id}:0`)],
    [
      'board: a move checked against a page of seats',
      (i) => getMoving(clerk, countyId, electionId, first(i).from, [...shown, first(i).to]),
    ],
    [
      'board: a seat emptied and filled again',
      // Before the moves: they leave people elsewhere.
      async (i) => {
        const { from: seatId, workerId } = first(i)
        await emptySeat(clerk, { electionId, seatId, expected: await mark() })
        await seatPerson(clerk, { electionId, seatId, workerId, move: 'no', expected: await mark() }).catch(
          () => {},
        )
      },
    ],
    [
      'board: a move, checked and written',
      // There on even turns, back on odd ones.
      async (i) => {
        const { from, to } = first(i >> 1)
        const [seatId, toSeatId] = i % 2 === 0 ? [from, to] : [to, from]
        await moveSeat(clerk, { electionId, seatId, toSeatId, expected: await mark() }).catch(() => {})
      },
    ],
    ['seat: the page of an empty one', (i) => getSeatPage(clerk, countyId, electionId, first(i).to, '')],
    ['seat: the page of a filled one', (i) => getSeatPage(clerk, countyId, electionId, first(i).from, '')],
    ['offers: the page', () => getOffersPage(clerk, countyId, electionId, { show: 'waiting' })],
    ['papers: one page of crews', () => getRosterPaper(clerk, countyId, electionId, { page: 1, places: 60 })],
    ['crews: the page', () => getCrews(clerk, countyId, electionId, { page: 1 })],
    ['places: the page', () => listPlacePage(clerk, countyId, { page: 1 })],
    ['who lapses', () => getLapses(clerk, countyId)],
  ]
}

/** People with an empty seat of the same position and day within their reach, and that they may sit in. */
const movablePairs = (electionId: string, rosterId: string) =>
  db().$queryRaw<{ from: string; to: string; workerId: string }[]>`
    SELECT g."seatId" AS from, e.id AS to, g."pollWorkerId" AS "workerId"
    FROM "Seat" e
    JOIN LATERAL (
      SELECT g."seatId", g."pollWorkerId" FROM "Seating" g
      JOIN "Seat" s ON s.id = g."seatId" AND s."positionId" = e."positionId" AND s."servesOn" = e."servesOn" AND s.shift = e.shift
      JOIN "PollWorker" w ON w.id = g."pollWorkerId" AND w."maxTravelKm" IS NULL
        AND NOT e."servesOn" = ANY(w."unavailableOn")
      JOIN "Position" p ON p.id = e."positionId"
      JOIN "CertificateSpan" c ON c."pollWorkerId" = w.id AND c."certificateKey" = p."certificateKey"
        AND c."validFrom" <= e."servesOn" AND (c."validUntil" IS NULL OR c."validUntil" > e."servesOn")
      WHERE g."rosterId" = ${rosterId}::uuid LIMIT 1) g ON true
    WHERE e."electionId" = ${electionId}::uuid
      AND NOT EXISTS (SELECT 1 FROM "Seating" x WHERE x."rosterId" = ${rosterId}::uuid AND x."seatId" = e.id)
    LIMIT 60`
