import { appendAudit } from '@/lib/audit/append'
import type { Tx } from '@/lib/db/client'
import { atThatTime, halvesOf } from '@/lib/kernel/day-parts'
import { AppError } from '@/lib/kernel/errors'
import { type Draft, draftFrom } from './commands-draft'
import { latestRoster, loadSmallGround } from './facts'
import type { HalfOrFull } from './schema'
import { refusalOf } from './words'

/** What answers to offers change in a roster, inside the caller's transaction. */

interface SeatOf {
  countyId: string
  electionId: string
  seatId: string
  /** The part of the day that was offered. */
  part: HalfOrFull
  workerId: string
}
interface By {
  actorAccountId: string | null
  at: Date
}

/** Nobody else changes rosters of this election until the transaction ends. Take it before any lock of an offer. */
export const lockElectionRow = (tx: Tx, electionId: string) =>
  tx.$executeRaw`SELECT 1 FROM "Election" WHERE id = ${electionId}::uuid FOR NO KEY UPDATE`

async function keepSeat(
  tx: Tx,
  draft: Draft,
  seat: SeatOf & { isHalf: boolean },
  by: By,
  put: boolean,
): Promise<void> {
  const { revision } = await tx.roster.update({
    where: { id: draft.id },
    data: { revision: { increment: 1 } },
  })
  await appendAudit(
    tx,
    { chain: seat.countyId, ...by },
    {
      event: 'roster.seat-changed',
      subject: `election:${seat.electionId}`,
      detail: {
        rosterId: draft.id,
        revision,
        seatId: seat.seatId,
        ...(seat.isHalf ? { shift: seat.part } : {}),
        fromWorkerId: put ? null : seat.workerId,
        toWorkerId: put ? seat.workerId : null,
      },
    },
  )
}

/** Empties the seat (or the half of it) of somebody who won't take it, in the draft (a new one where the newest version is published); a
 *  lock is no reason to keep who doesn't come. False: they don't sit there any more, nothing is changed. */
export async function vacateSeat(tx: Tx, seat: SeatOf, by: By): Promise<boolean> {
  await lockElectionRow(tx, seat.electionId)
  const roster = await latestRoster(tx, seat.electionId)
  const row = await tx.seat.findUniqueOrThrow({ where: { id: seat.seatId } })
  const where = {
    seatId: seat.seatId,
    pollWorkerId: seat.workerId,
    ...halvesOf(seat.part, row.servesOn),
  }
  if (!roster || !(await tx.seating.findFirst({ where: { rosterId: roster.id, ...where } }))) return false
  const draft = await draftFrom(tx, { countyId: seat.countyId, electionId: seat.electionId }, roster)
  await tx.seating.deleteMany({ where: { rosterId: draft.id, ...where } })
  await keepSeat(tx, draft, { ...seat, isHalf: row.shift !== seat.part }, by, false)
  return true
}

/** Puts somebody who is free into an empty seat, or the empty half of one, of the draft. @throws AppError CONFLICT where the seat or the person is
 *  taken by now, INVALID_INPUT with the reason where they may not sit there. */
export async function fillEmptySeat(tx: Tx, seat: SeatOf, by: By): Promise<void> {
  await lockElectionRow(tx, seat.electionId)
  const row = await tx.seat.findUniqueOrThrow({ where: { id: seat.seatId }, include: { position: true } })
  const worker = await tx.pollWorker.findUnique({ where: { id: seat.workerId } })
  if (!worker || worker.countyId !== seat.countyId)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such person, or they belong to another county.',
    })
  const name = `${worker.givenName} ${worker.familyName}`
  const refusal = refusalOf(
    await loadSmallGround(tx, [row.id], [worker.id]),
    { id: worker.id, name, addressProtected: worker.confidentialAddress },
    { id: row.id, part: seat.part, positionName: row.position.nameEn, servesOn: row.servesOn },
  )
  if (refusal)
    throw new AppError('INVALID_INPUT', { userMessage: `${refusal.sentence} Nothing was changed.` })
  const roster = await latestRoster(tx, seat.electionId)
  const draft = await draftFrom(tx, { countyId: seat.countyId, electionId: seat.electionId }, roster)
  const halves = halvesOf(seat.part, row.servesOn)
  const taken = await tx.seating.findFirst({
    where: {
      rosterId: draft.id,
      AND: [atThatTime(seat.part, row.servesOn), { OR: [{ seatId: row.id }, { pollWorkerId: worker.id }] }],
    },
  })
  if (taken)
    throw new AppError('CONFLICT', {
      userMessage:
        taken.seatId === row.id
          ? 'Somebody else sits there by now. Load the page again.'
          : `${name} sits in another seat at that time by now. Load the page again and choose somebody else.`,
    })
  await tx.seating.create({
    data: { countyId: seat.countyId, rosterId: draft.id, seatId: row.id, pollWorkerId: worker.id, ...halves },
  })
  await keepSeat(tx, draft, { ...seat, isHalf: row.shift !== seat.part }, by, true)
}
