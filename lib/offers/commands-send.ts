import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { assertCan } from '@/lib/auth/permissions'
import { db, type Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { CivilDateInput } from '@/lib/kernel/date-schema'
import { dateInWords } from '@/lib/kernel/date-words'
import { type CivilDate, civilDateAt } from '@/lib/kernel/dates'
import type { DayPart } from '@/lib/kernel/day-parts'
import { AppError } from '@/lib/kernel/errors'
import { type Notice, writeNotice, writeNotices } from '@/lib/notices/outbox'
import { REACH_COLUMNS, reachOf } from '@/lib/people/reach'
import { enqueue } from '@/lib/queue/enqueue'
import { lockElectionRow } from '@/lib/roster/commands-answers'
import type { Prisma } from '@/prisma/client/client'
import { addEvent, lockOffer, offered, officeValues, SEAT_COLUMNS, seatLine } from './facts'
import {
  countPeopleToOffer,
  latestRosters,
  listNearDeadline,
  listPeopleToOffer,
  listSeatsToOffer,
  listStray,
} from './facts-rosters'
import { offerAddress } from './link'

/** From the clerk's button to a letter or an e-mail for everybody on a published roster. The job runner writes in
 *  chunks, each of which is kept whole; run again, it goes on where it stopped. */

export const SEND_OFFERS = 'send-offers'
/** People of one transaction: large enough that reading whom to write to doesn't count, a second or two of work. */
const CHUNK = 500
/** Offers taken back in one transaction: one by one. */
const STRAY_CHUNK = 50
/** A sending writes a sign of life with each chunk; silent for longer, its process is gone. */
export const SILENT_MS = 60_000

export const SendOffersInput = z.object({ electionId: z.uuid(), answerBy: CivilDateInput })

const noElection = () =>
  new AppError('NOT_FOUND', { userMessage: 'There is no such election, or it belongs to another county.' })

/** A deadline lies between today and the day before the election. @throws AppError INVALID_INPUT */
export function assertDeadline(answerBy: CivilDate, today: CivilDate, heldOn: string): void {
  if (answerBy < today || answerBy >= heldOn)
    throw new AppError('INVALID_INPUT', {
      userMessage: `Choose a day from today (${today}) to the day before the election (${heldOn}).`,
      fields: { answerBy: 'Not a day on which people can still answer.' },
    })
}

/** Asks for offers to everybody on the newest published roster who has none. One sending an election at a time.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT, INVALID_INPUT */
export async function requestSending(
  actor: Actor,
  input: z.output<typeof SendOffersInput>,
): Promise<{ sendingId: string }> {
  return transaction(async (tx) => {
    await lockElectionRow(tx, input.electionId)
    const election = await tx.election.findUnique({
      where: { id: input.electionId },
      include: { county: true },
    })
    if (!election) throw noElection()
    const { countyId } = election
    assertCan(actor, 'changeRoster', countyId)
    const at = systemClock.now()
    assertDeadline(input.answerBy, civilDateAt(at, election.county.timeZone), election.heldOn)
    const rosters = await latestRosters(tx, election.id)
    if (!rosters)
      throw new AppError('CONFLICT', {
        userMessage: 'No roster of this election is published yet. Publish it on the roster page, then send.',
      })
    const active = await tx.offerSending.findFirst({ where: { electionId: election.id, finishedAt: null } })
    if (active && active.heartbeatAt.getTime() > at.getTime() - SILENT_MS)
      throw new AppError('CONFLICT', {
        userMessage: 'A sending is under way. Wait for it, or stop it first.',
      })
    if (active) await tx.offerSending.update({ where: { id: active.id }, data: { finishedAt: at } })
    const people = await countPeopleToOffer(tx, rosters)
    const stray = await listStray(tx, election.id, rosters, 1)
    if (people === 0 && stray.length === 0)
      throw new AppError('CONFLICT', {
        userMessage: 'Everybody on the published roster has an offer already.',
      })
    const sending = await tx.offerSending.create({
      data: {
        countyId,
        electionId: election.id,
        rosterId: rosters.published,
        answerBy: input.answerBy,
        requestedBy: actor.accountId,
        createdAt: at,
        heartbeatAt: at,
        people,
      },
    })
    await enqueue(
      tx,
      SEND_OFFERS,
      { sendingId: sending.id },
      { jobKey: `${SEND_OFFERS}:${sending.id}`, countyId },
    )
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      {
        event: 'offers.asked',
        subject: `election:${election.id}`,
        detail: { sendingId: sending.id, answerBy: input.answerBy },
      },
    )
    return { sendingId: sending.id }
  })
}

export const StopSendingInput = z.object({ electionId: z.uuid() })

/** Stops the sending that is under way after the chunk that it is at. What was sent stays sent. */
export async function stopSending(actor: Actor, input: z.output<typeof StopSendingInput>): Promise<void> {
  await transaction(async (tx) => {
    const election = await tx.election.findUnique({ where: { id: input.electionId } })
    if (!election) throw noElection()
    assertCan(actor, 'changeRoster', election.countyId)
    const active = await tx.offerSending.findFirst({ where: { electionId: election.id, finishedAt: null } })
    if (!active) throw new AppError('CONFLICT', { userMessage: 'No sending is under way.' })
    await tx.offerSending.update({ where: { id: active.id }, data: { cancelAsked: true } })
    await appendAudit(
      tx,
      { chain: election.countyId, actorAccountId: actor.accountId, at: systemClock.now() },
      {
        event: 'offers.stopped',
        subject: `election:${election.id}`,
        detail: { sendingId: active.id, answerBy: active.answerBy },
      },
    )
  })
}

/** The job: takes back offers of seats that others have now, then writes to everybody without an offer. */
export async function sendOffers(sendingId: string): Promise<void> {
  while ((await transaction((tx) => step(tx, sendingId))) === 'more');
}

async function step(tx: Tx, sendingId: string): Promise<'more' | 'over'> {
  const row = await tx.offerSending.findUnique({ where: { id: sendingId } })
  if (!row) return 'over'
  await lockElectionRow(tx, row.electionId)
  const sending = await tx.offerSending.findUniqueOrThrow({
    where: { id: sendingId },
    include: { election: { include: { county: true } } },
  })
  if (sending.finishedAt) return 'over'
  const at = systemClock.now()
  const rosters = await latestRosters(tx, sending.electionId)
  const stray = rosters ? await listStray(tx, sending.electionId, rosters, STRAY_CHUNK) : []
  const people = rosters && stray.length === 0 ? await listPeopleToOffer(tx, rosters, CHUNK) : []
  if (!rosters || sending.cancelAsked || stray.length + people.length === 0) {
    await tx.offerSending.update({ where: { id: sendingId }, data: { finishedAt: at } })
    return 'over'
  }
  await tx.offerSending.update({
    where: { id: sendingId },
    data: { heartbeatAt: at, done: { increment: people.length } },
  })
  const by = { actorAccountId: sending.requestedBy, at }
  for (const offerId of stray) await withdrawIn(tx, offerId, { ...by, note: '' })
  if (people.length > 0) {
    const seats = await listSeatsToOffer(tx, rosters, people)
    const made = await makeOffers(tx, sending.election, seats, {
      sendingId,
      answerBy: sending.answerBy as CivilDate,
      accountId: sending.requestedBy,
      at,
    })
    await appendAudit(
      tx,
      { chain: sending.countyId, ...by },
      {
        event: 'offers.made',
        subject: `election:${sending.electionId}`,
        detail: { sendingId, ...made },
      },
    )
  }
  return 'more'
}

type ElectionWithCounty = Prisma.ElectionGetPayload<{ include: { county: true } }>

/** Writes offers with their first event, and one message a person for all their seats; who has no e-mail gets a
 *  letter, which is printed later. The unique key of seat, part of the day and person keeps anybody from being asked twice. */
export async function makeOffers(
  tx: Tx,
  election: ElectionWithCounty,
  seats: { seatId: string; pollWorkerId: string; shift: DayPart }[],
  of: { sendingId: string | null; answerBy: CivilDate; accountId: string; at: Date },
): Promise<{ offers: number; mails: number; letters: number }> {
  const { countyId, county } = election
  const people = [...new Set(seats.map((s) => s.pollWorkerId))]
  await tx.offer.createMany({
    data: seats.map((s) => ({ countyId, electionId: election.id, sendingId: of.sendingId, ...s })),
    skipDuplicates: true,
  })
  const wanted = new Set(seats.map(keyOf))
  const rows = (
    await tx.offer.findMany({
      where: { seatId: { in: seats.map((s) => s.seatId) }, pollWorkerId: { in: people } },
      include: { _count: { select: { events: true } }, seat: { select: SEAT_COLUMNS } },
      orderBy: { seat: { servesOn: 'asc' } },
    })
  ).filter((row) => wanted.has(keyOf(row)))
  // Offered anew: the letter belongs to this sending.
  const again = rows.filter((r) => r._count.events > 0).map((r) => r.id)
  if (again.length > 0)
    await tx.offer.updateMany({ where: { id: { in: again } }, data: { sendingId: of.sendingId } })
  const workers = await tx.pollWorker.findMany({
    where: { id: { in: people } },
    select: { id: true, givenName: true, familyName: true, ...REACH_COLUMNS },
  })
  const reaches = new Map(workers.map((w) => [w.id, reachOf(w)]))
  await tx.offerEvent.createMany({
    data: rows.map((row) => ({
      offerId: row.id,
      countyId,
      sequence: row._count.events,
      kind: 'offered' as const,
      via: reaches.get(row.pollWorkerId)!.address ? ('mail' as const) : ('letter' as const),
      at: of.at,
      accountId: of.accountId,
      answerBy: of.answerBy,
    })),
  })
  const offersOf = new Map(people.map((id) => [id, [] as typeof rows]))
  for (const row of rows) offersOf.get(row.pollWorkerId)!.push(row)
  const asked = workers.filter((worker) => offersOf.get(worker.id)!.length > 0)
  const mails = asked.flatMap((worker): Notice<'offer-made'>[] => {
    const { address, locale, accountId } = reaches.get(worker.id)!
    if (!address) return []
    const offers = offersOf.get(worker.id)!
    const first = offers[0]!
    return [
      {
        kind: 'offer-made',
        values: {
          name: `${worker.givenName} ${worker.familyName}`,
          election: election.name,
          seats: offers.map((o) =>
            seatLine(offered(o), election.heldOn as CivilDate, county.settings, locale),
          ),
          answerBy: dateInWords(of.answerBy, locale),
          link: offerAddress(first.id),
          ...officeValues(county),
        },
        to: { address, locale, accountId },
        countyId,
        onceKey: `offer:${first.seatId}:${worker.id}:${first.shift}:${first._count.events}`,
        at: of.at,
      },
    ]
  })
  await writeNotices(tx, mails)
  return { offers: rows.length, mails: mails.length, letters: asked.length - mails.length }
}

const keyOf = (o: { seatId: string; pollWorkerId: string; shift: string }) =>
  `${o.seatId} ${o.pollWorkerId} ${o.shift}`

/** Takes an offer back and tells the person where there is an e-mail. The caller holds the election's lock. */
export async function withdrawIn(
  tx: Tx,
  offerId: string,
  by: { actorAccountId: string; at: Date; note: string },
): Promise<void> {
  const offer = await lockOffer(tx, offerId)
  await addEvent(tx, offer, {
    kind: 'withdrawn',
    via: 'office',
    at: by.at,
    accountId: by.actorAccountId,
    note: by.note,
  })
  const worker = await tx.pollWorker.findUniqueOrThrow({
    where: { id: offer.pollWorkerId },
    select: { givenName: true, familyName: true, ...REACH_COLUMNS },
  })
  const reach = reachOf(worker)
  if (reach.address) {
    const seat = await tx.seat.findUniqueOrThrow({ where: { id: offer.seatId }, select: SEAT_COLUMNS })
    await writeNotice(tx, {
      kind: 'offer-withdrawn',
      values: {
        name: `${worker.givenName} ${worker.familyName}`,
        election: offer.election.name,
        seats: [
          seatLine(
            { ...seat, shift: offer.shift },
            offer.election.heldOn as CivilDate,
            offer.election.county.settings,
            reach.locale,
          ),
        ],
        link: offerAddress(offer.id),
        ...officeValues(offer.election.county),
      },
      to: { address: reach.address, locale: reach.locale, accountId: reach.accountId },
      countyId: offer.countyId,
      onceKey: `offer-withdrawn:${offer.id}:${offer.events.length}`,
      at: by.at,
    })
  }
  await appendAudit(
    tx,
    { chain: offer.countyId, actorAccountId: by.actorAccountId, at: by.at },
    { event: 'offer.withdrawn', subject: `worker:${offer.pollWorkerId}`, detail: { offerId: offer.id } },
  )
}

/** How long before a deadline people who haven't answered are reminded, once. */
const REMIND_DAYS = 2

/** Writes to everybody with an e-mail whose deadline is near and who hasn't answered; each person once for a deadline.
 *  Returns how many messages were written. */
export async function remindOfOffers(at: Date): Promise<number> {
  const elections = await db().election.findMany({
    where: { offers: { some: {} } },
    include: { county: true },
  })
  let written = 0
  for (const election of elections) {
    const today = civilDateAt(at, election.county.timeZone)
    if (today >= election.heldOn) continue
    for (const near of await listNearDeadline(db(), election.id, today, REMIND_DAYS))
      written += await transaction((tx) => remindOne(tx, election, near, at))
  }
  return written
}

async function remindOne(
  tx: Tx,
  election: ElectionWithCounty,
  near: { pollWorkerId: string; answerBy: string; offerIds: string[] },
  at: Date,
): Promise<number> {
  const worker = await tx.pollWorker.findUniqueOrThrow({
    where: { id: near.pollWorkerId },
    select: { givenName: true, familyName: true, ...REACH_COLUMNS },
  })
  const reach = reachOf(worker)
  if (!reach.address) return 0
  const offers = await tx.offer.findMany({
    where: { id: { in: near.offerIds } },
    include: { seat: { select: SEAT_COLUMNS } },
    orderBy: { seat: { servesOn: 'asc' } },
  })
  const id = await writeNotice(tx, {
    kind: 'offer-reminder',
    values: {
      name: `${worker.givenName} ${worker.familyName}`,
      election: election.name,
      seats: offers.map((o) =>
        seatLine(offered(o), election.heldOn as CivilDate, election.county.settings, reach.locale),
      ),
      answerBy: dateInWords(near.answerBy as CivilDate, reach.locale),
      link: offerAddress(offers[0]!.id),
      ...officeValues(election.county),
    },
    to: { address: reach.address, locale: reach.locale, accountId: reach.accountId },
    countyId: election.countyId,
    onceKey: `offer-reminder:${election.id}:${near.pollWorkerId}:${near.answerBy}`,
    at,
  })
  return id ? 1 : 0
}
