import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { civilDateAt } from '@/lib/kernel/dates'
import { dayPartOf } from '@/lib/kernel/day-parts'
import { AppError } from '@/lib/kernel/errors'
import { lockElectionRow, vacateSeat } from '@/lib/roster/commands-answers'
import type { OfferVia } from '@/prisma/client/enums'
import { mayHappen } from './core/status'
import { addEvent, type LockedOffer, lockOffer, noOffer, statusOf } from './facts'
import { readOfferToken } from './link'
import type { AnswerInput } from './schema'

/** Answers of the person: signed in, by the link of the letter, or told to the office. */

interface By {
  accountId: string | null
  via: OfferVia
}

/** Locks the election, then the offer: the order that every change of a roster keeps. */
async function openOffer(tx: Tx, offerId: string): Promise<LockedOffer> {
  const row = await tx.offer.findUnique({ where: { id: offerId }, select: { electionId: true } })
  if (!row) throw noOffer()
  await lockElectionRow(tx, row.electionId)
  return lockOffer(tx, offerId)
}

const over = () =>
  new AppError('CONFLICT', {
    userMessage: 'This day is over. Call the election office if something is still open.',
    userMessageEs: 'Ese día ya pasó. Llame a la oficina electoral si algo sigue pendiente.',
  })

const closed = () =>
  new AppError('CONFLICT', {
    userMessage:
      'This can’t be answered any more: you said no before, or the office took it back. Call the election office if you changed your mind.',
    userMessageEs:
      'Ya no se puede responder: usted dijo que no antes, o la oficina lo retiró. Llame a la oficina electoral si cambió de opinión.',
  })

/** Writes an answer. The same answer twice (a double click, a second tap) is kept once. A no empties the seat in the
 *  draft in the same transaction. */
async function writeAnswer(tx: Tx, offer: LockedOffer, input: AnswerInput, by: By): Promise<void> {
  const at = systemClock.now()
  const today = civilDateAt(at, offer.election.county.timeZone)
  if (today > offer.seat.servesOn) throw over()
  const { state } = statusOf(offer.events, today)
  const already = { accepted: 'accepted', declined: 'declined', askedElsewhere: 'asked' }[input.answer]
  if (state === already) return
  if (!mayHappen(input.answer, state)) throw closed()
  await addEvent(tx, offer, {
    kind: input.answer,
    via: by.via,
    at,
    accountId: by.accountId,
    reason: input.reason,
    note: input.note,
  })
  if (input.answer === 'declined')
    await vacateSeat(
      tx,
      {
        countyId: offer.countyId,
        electionId: offer.electionId,
        seatId: offer.seatId,
        part: dayPartOf(offer.shift),
        workerId: offer.pollWorkerId,
      },
      { actorAccountId: by.accountId, at },
    )
  await appendAudit(
    tx,
    { chain: offer.countyId, actorAccountId: by.accountId, at },
    {
      event: 'offer.answered',
      subject: `worker:${offer.pollWorkerId}`,
      detail: { offerId: offer.id, answer: input.answer, via: by.via },
    },
  )
}

/** The person answers, signed in. @throws AppError NOT_FOUND for somebody else's offer, CONFLICT. */
export async function answerOffer(actor: Actor, input: AnswerInput): Promise<void> {
  await transaction(async (tx) => {
    const offer = await openOffer(tx, input.offerId)
    if (actor.pollWorkerId === null || offer.pollWorkerId !== actor.pollWorkerId) throw noOffer()
    await writeAnswer(tx, offer, input, { accountId: actor.accountId, via: 'page' })
  })
}

/** Whoever holds the letter answers, without signing in: only what the letter offers. @throws AppError NOT_FOUND */
export async function answerByLink(token: string, input: AnswerInput): Promise<void> {
  const letterOf = readOfferToken(token)
  if (!letterOf) throw noOffer()
  await transaction(async (tx) => {
    const letter = await tx.offer.findUnique({ where: { id: letterOf } })
    const offer = await openOffer(tx, input.offerId)
    if (
      !letter ||
      offer.pollWorkerId !== letter.pollWorkerId ||
      offer.electionId !== letter.electionId ||
      offer.countyId !== letter.countyId
    )
      throw noOffer()
    await writeAnswer(tx, offer, input, { accountId: null, via: 'link' })
  })
}

export const RecordedAnswerVia = z.enum(['phone', 'paper'])

/** Staff write down what somebody said on the telephone or wrote on the slip. @throws AppError */
export async function recordAnswer(
  actor: Actor,
  input: AnswerInput & { via: z.output<typeof RecordedAnswerVia> },
): Promise<void> {
  await transaction(async (tx) => {
    const offer = await openOffer(tx, input.offerId)
    assertCan(actor, 'changeRoster', offer.countyId)
    await writeAnswer(tx, offer, input, { accountId: actor.accountId, via: input.via })
  })
}
