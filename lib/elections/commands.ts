import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { type CivilDate, daysBetween } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'

export const ELECTION_KINDS = ['general', 'primary', 'runoff', 'special', 'municipal'] as const

export const ElectionInput = z.object({
  countyId: z.string().min(1).max(100),
  name: z.string().trim().min(1, 'Give a name.').max(120),
  kind: z.enum(ELECTION_KINDS),
  heldOn: CivilDateInput,
  /** Whose places and crews it takes over; empty: none, crews come from the rules. */
  fromElectionId: z.union([z.literal('').transform(() => null), z.uuid()]),
  /** Seat the same people too, as a draft. */
  people: z.literal('yes').optional(),
})

/** Makes an election. From an earlier one it takes every seat, the hand changes of its crews and, when asked, its
 *  newest roster as a draft; days move along with election day. Returns its id.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT where one of that name is held on that day. */
export async function makeElection(actor: Actor, input: z.output<typeof ElectionInput>): Promise<string> {
  assertCan(actor, 'changePlaces', input.countyId)
  const { countyId, name, kind, heldOn } = input
  const at = systemClock.now()
  return transaction(async (tx) => {
    const earlier = input.fromElectionId
      ? await tx.election.findUnique({ where: { id: input.fromElectionId } })
      : null
    if (input.fromElectionId && earlier?.countyId !== countyId)
      throw new AppError('NOT_FOUND', { userMessage: 'There is no such election in this county.' })
    if (await tx.election.findUnique({ where: { countyId_heldOn_name: { countyId, heldOn, name } } }))
      throw new AppError('CONFLICT', {
        userMessage: 'An election of this name is held on that day already.',
        fields: { name: 'Choose another name or day.' },
      })
    const election = await tx.election.create({ data: { countyId, name, kind, heldOn } })
    const seats = earlier ? await takeOver(tx, earlier, election, input.people === 'yes', at) : 0
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      {
        event: 'election.made',
        subject: `election:${election.id}`,
        detail: { heldOn, fromElectionId: earlier?.id ?? null, seats },
      },
    )
    return election.id
  })
}

/** Copies seats and hand changes, and, for `people`, who sits where, `heldOn` apart. Returns the number of seats. */
async function takeOver(
  tx: Tx,
  from: { id: string; heldOn: string },
  to: { id: string; countyId: string; heldOn: string },
  people: boolean,
  at: Date,
): Promise<number> {
  const days = daysBetween(from.heldOn as CivilDate, to.heldOn as CivilDate)
  const seats = await tx.$executeRaw`
    INSERT INTO "Seat" (id, "countyId", "electionId", "pollingPlaceId", "positionId", "servesOn", shift, number, "legalMinimum")
    SELECT gen_random_uuid(), "countyId", ${to.id}::uuid, "pollingPlaceId", "positionId",
      to_char("servesOn"::date + ${days}::int, 'YYYY-MM-DD'), shift, number, "legalMinimum"
    FROM "Seat" WHERE "electionId" = ${from.id}::uuid`
  await tx.$executeRaw`
    INSERT INTO "CrewChange" (id, "countyId", "electionId", "pollingPlaceId", "positionKey", "servesOn", shift, change, reason, "changedBy", "changedAt")
    SELECT gen_random_uuid(), "countyId", ${to.id}::uuid, "pollingPlaceId", "positionKey",
      to_char("servesOn"::date + ${days}::int, 'YYYY-MM-DD'), shift, change, reason, "changedBy", "changedAt"
    FROM "CrewChange" WHERE "electionId" = ${from.id}::uuid`
  if (!people) return seats
  const roster = await tx.roster.findFirst({ where: { electionId: from.id }, orderBy: { version: 'desc' } })
  if (!roster) return seats
  const draft = await tx.roster.create({
    data: { countyId: to.countyId, electionId: to.id, version: 1, createdAt: at },
  })
  await tx.$executeRaw`
    INSERT INTO "Seating" (id, "countyId", "rosterId", "seatId", "pollWorkerId", locked, "morningOn", "afternoonOn")
    SELECT gen_random_uuid(), n."countyId", ${draft.id}::uuid, n.id, g."pollWorkerId", false,
      CASE WHEN g."morningOn" IS NULL THEN NULL ELSE n."servesOn" END,
      CASE WHEN g."afternoonOn" IS NULL THEN NULL ELSE n."servesOn" END
    FROM "Seating" g JOIN "Seat" s ON s.id = g."seatId"
    JOIN "Seat" n ON n."electionId" = ${to.id}::uuid AND n."pollingPlaceId" = s."pollingPlaceId"
      AND n."positionId" = s."positionId" AND n.shift = s.shift AND n.number = s.number
      AND n."servesOn" = to_char(s."servesOn"::date + ${days}::int, 'YYYY-MM-DD')
    WHERE g."rosterId" = ${roster.id}::uuid`
  return seats
}
