import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import type { Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import { dayPartOf } from '@/lib/kernel/day-parts'
import { AppError } from '@/lib/kernel/errors'
import { fillEmptySeat, lockElectionRow, vacateSeat } from '@/lib/roster/commands-answers'
import { assertDeadline, makeOffers, withdrawIn } from './commands-send'
import { mayHappen, type OfferEventKind } from './core/status'
import { addEvent, lockOffer, noOffer, statusOf } from './facts'
import { assertPartyFits } from './facts-replacements'
import { listStandings } from './facts-rosters'
import { CALL_OUTCOMES, OfferSettings } from './schema'

/** What the office does with offers, one at a time. */

export const OfferInput = z.object({ offerId: z.uuid() })

/** Locks the election and the offer, and checks that this may happen to it. */
async function openFor(tx: Tx, actor: Actor, offerId: string, kind: OfferEventKind) {
  const row = await tx.offer.findUnique({
    where: { id: offerId },
    select: { electionId: true, countyId: true },
  })
  if (!row) throw noOffer()
  assertCan(actor, 'changeRoster', row.countyId)
  await lockElectionRow(tx, row.electionId)
  const offer = await lockOffer(tx, offerId)
  const at = systemClock.now()
  const today = civilDateAt(at, offer.election.county.timeZone)
  const status = statusOf(offer.events, today)
  if (!mayHappen(kind, status.state))
    throw new AppError('CONFLICT', {
      userMessage: 'The offer has changed since you opened the page. Load it again.',
    })
  const by = { actorAccountId: actor.accountId, at }
  return { offer, today, by, status }
}

const audit = (
  tx: Tx,
  offer: { id: string; countyId: string; pollWorkerId: string },
  by: { actorAccountId: string; at: Date },
  event: 'offer.extended' | 'offer.called' | 'offer.letter-returned',
) =>
  appendAudit(
    tx,
    { chain: offer.countyId, ...by },
    { event, subject: `worker:${offer.pollWorkerId}`, detail: { offerId: offer.id } },
  )

export const CallInput = OfferInput.extend({
  outcome: z.enum(CALL_OUTCOMES, 'Choose how it went.'),
  note: z.string().trim().max(500, 'At most 500 characters.').default(''),
})

/** Writes down a call: when, by whom, how it went. */
export async function logCall(actor: Actor, input: z.output<typeof CallInput>): Promise<void> {
  await transaction(async (tx) => {
    const { offer, by } = await openFor(tx, actor, input.offerId, 'called')
    await addEvent(tx, offer, {
      kind: 'called',
      via: 'phone',
      at: by.at,
      accountId: by.actorAccountId,
      reason: input.outcome,
      note: input.note,
    })
    await audit(tx, offer, by, 'offer.called')
  })
}

/** A letter came back as undeliverable. */
export async function markLetterReturned(actor: Actor, input: z.output<typeof OfferInput>): Promise<void> {
  await transaction(async (tx) => {
    const { offer, by, status } = await openFor(tx, actor, input.offerId, 'returned')
    if (status.letterReturned) return
    await addEvent(tx, offer, {
      kind: 'returned',
      via: 'office',
      at: by.at,
      accountId: by.actorAccountId,
    })
    await audit(tx, offer, by, 'offer.letter-returned')
  })
}

export const ExtendInput = OfferInput.extend({ answerBy: CivilDateInput })

/** Gives one person more time. @throws AppError */
export async function extendOffer(actor: Actor, input: z.output<typeof ExtendInput>): Promise<void> {
  await transaction(async (tx) => {
    const { offer, by, today } = await openFor(tx, actor, input.offerId, 'extended')
    assertDeadline(input.answerBy, today, offer.election.heldOn)
    await addEvent(tx, offer, {
      kind: 'extended',
      via: 'office',
      at: by.at,
      accountId: by.actorAccountId,
      answerBy: input.answerBy,
    })
    await audit(tx, offer, by, 'offer.extended')
  })
}

export const ExtendAllInput = z.object({ electionId: z.uuid(), answerBy: CivilDateInput })

/** Gives everybody who hasn't answered more time. Returns how many offers. */
export async function extendAll(actor: Actor, input: z.output<typeof ExtendAllInput>): Promise<number> {
  return transaction(async (tx) => {
    const election = await tx.election.findUnique({
      where: { id: input.electionId },
      include: { county: true },
    })
    if (!election)
      throw new AppError('NOT_FOUND', {
        userMessage: 'There is no such election, or it belongs to another county.',
      })
    assertCan(actor, 'changeRoster', election.countyId)
    await lockElectionRow(tx, election.id)
    const at = systemClock.now()
    const today = civilDateAt(at, election.county.timeZone)
    assertDeadline(input.answerBy, today, election.heldOn)
    const waiting = (await listStandings(tx, election.id, today)).filter(
      (o) => mayHappen('extended', o.state) && o.answerBy < input.answerBy,
    )
    await tx.offerEvent.createMany({
      data: waiting.map((o) => ({
        offerId: o.id,
        countyId: election.countyId,
        sequence: o.events,
        kind: 'extended' as const,
        via: 'office' as const,
        at,
        accountId: actor.accountId,
        answerBy: input.answerBy,
      })),
    })
    await appendAudit(
      tx,
      { chain: election.countyId, actorAccountId: actor.accountId, at },
      {
        event: 'offers.extended',
        subject: `election:${election.id}`,
        detail: { answerBy: input.answerBy, offers: waiting.length },
      },
    )
    return waiting.length
  })
}

export const WithdrawInput = OfferInput.extend({
  note: z.string().trim().max(500, 'At most 500 characters.').default(''),
})

/** Takes an offer back: the seat is emptied in the draft and the person is told. After a no it only says that the
 *  person may be asked again. */
export async function withdrawOffer(actor: Actor, input: z.output<typeof WithdrawInput>): Promise<void> {
  await transaction(async (tx) => {
    const { offer, by, status } = await openFor(tx, actor, input.offerId, 'withdrawn')
    if (status.state === 'declined') {
      await addEvent(tx, offer, {
        kind: 'withdrawn',
        via: 'office',
        at: by.at,
        accountId: by.actorAccountId,
        note: input.note,
      })
      await appendAudit(
        tx,
        { chain: offer.countyId, ...by },
        {
          event: 'offer.withdrawn',
          subject: `worker:${offer.pollWorkerId}`,
          detail: { offerId: offer.id },
        },
      )
      return
    }
    await vacateSeat(
      tx,
      {
        countyId: offer.countyId,
        electionId: offer.electionId,
        seatId: offer.seatId,
        part: dayPartOf(offer.shift),
        workerId: offer.pollWorkerId,
      },
      by,
    )
    await withdrawIn(tx, offer.id, { ...by, note: input.note })
  })
}

export const ReplaceInput = OfferInput.extend({ workerId: z.uuid(), answerBy: CivilDateInput })

/** Puts somebody who is free into the seat that was declined or taken back, in the draft, and offers it to them: both
 *  or neither. @throws AppError CONFLICT where the seat or the person is taken by now, INVALID_INPUT with the reason. */
export async function offerReplacement(
  actor: Actor,
  input: z.output<typeof ReplaceInput>,
): Promise<{ offerId: string; name: string }> {
  return transaction(async (tx) => {
    const { offer, by, today } = await openFor(tx, actor, input.offerId, 'offered')
    assertDeadline(input.answerBy, today, offer.election.heldOn)
    await assertPartyFits(tx, offer, input.workerId)
    const shift = dayPartOf(offer.shift)
    await fillEmptySeat(
      tx,
      {
        countyId: offer.countyId,
        electionId: offer.electionId,
        seatId: offer.seatId,
        part: shift,
        workerId: input.workerId,
      },
      by,
    )
    await makeOffers(tx, offer.election, [{ seatId: offer.seatId, pollWorkerId: input.workerId, shift }], {
      sendingId: null,
      answerBy: input.answerBy as CivilDate,
      accountId: actor.accountId,
      at: by.at,
    })
    const made = await tx.offer.findUniqueOrThrow({
      where: {
        seatId_pollWorkerId_shift: { seatId: offer.seatId, pollWorkerId: input.workerId, shift },
      },
      include: { pollWorker: { select: { givenName: true, familyName: true } } },
    })
    await appendAudit(
      tx,
      { chain: offer.countyId, ...by },
      {
        event: 'offer.made',
        subject: `worker:${input.workerId}`,
        detail: { offerId: made.id, seatId: offer.seatId, answerBy: input.answerBy },
      },
    )
    return { offerId: made.id, name: `${made.pollWorker.givenName} ${made.pollWorker.familyName}` }
  })
}

export const OfferSettingsInput = OfferSettings.extend({ countyId: z.string().min(1).max(100) })

/** How this county makes its offers. The other settings stay. */
export async function setOfferSettings(
  actor: Actor,
  { countyId, ...settings }: z.output<typeof OfferSettingsInput>,
): Promise<void> {
  assertCan(actor, 'changeRoster', countyId)
  const change = JSON.stringify({ offers: settings })
  await transaction(async (tx) => {
    await tx.$executeRaw`UPDATE "County" SET settings = settings || ${change}::jsonb WHERE id = ${countyId}`
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      {
        event: 'county.settings-changed',
        subject: `county:${countyId}`,
        detail: { changed: ['offers'] },
      },
    )
  })
}

/** Says in the audit chain that letters left the house. */
export async function recordLetters(
  actor: Actor,
  input: { electionId: string; sendingId: string | null; letters: number },
): Promise<void> {
  await transaction(async (tx) => {
    const election = await tx.election.findUnique({ where: { id: input.electionId } })
    if (!election) throw noOffer()
    assertCan(actor, 'changeRoster', election.countyId)
    await appendAudit(
      tx,
      { chain: election.countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      {
        event: 'offers.letters-printed',
        subject: `election:${election.id}`,
        detail: { sendingId: input.sendingId, letters: input.letters },
      },
    )
  })
}
