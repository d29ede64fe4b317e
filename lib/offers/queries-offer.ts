import type { Actor } from '@/lib/auth/actor'
import { can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import { addDays, type CivilDate, civilDateAt, earlierOf } from '@/lib/kernel/dates'
import { atThatTime, dayPartOf } from '@/lib/kernel/day-parts'
import { REACH_COLUMNS, reachOf } from '@/lib/people/reach'
import { type ElectionHead, getElectionHead } from '@/lib/roster/queries'
import { mayHappen } from './core/status'
import { noOffer, SEAT_COLUMNS } from './facts'
import { listStandings, type OfferStanding } from './facts-rosters'
import { offerAddress } from './link'
import { listReplacements, type Replacements } from './queries-replacements'

export interface OfferPage {
  head: ElectionHead
  id: string
  timeZone: string
  person: { id: string; name: string; countyRef: string; phone: string | null; email: string | null }
  seat: { id: string; position: string; servesOn: CivilDate; shift: string; place: string; placeId: string }
  standing: OfferStanding
  may: Record<
    'accept' | 'decline' | 'ask' | 'extend' | 'withdraw' | 'call' | 'markReturned' | 'replace',
    boolean
  >
  /** What the person's letter opens. */
  link: string
  language: string
  events: {
    kind: OfferStanding['state'] | string
    at: Date
    via: string
    by: string | null
    answerBy: CivilDate | null
    reason: string | null
    note: string
  }[]
  /** Who sits there now in the newest roster, if somebody else. */
  nowSeated: { name: string } | null
  replacements: Replacements | null
  suggestedAnswerBy: CivilDate
}

/** One offer with all that happened to it; after a no, whom to ask instead. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getOfferPage(
  actor: Actor,
  countyId: string,
  electionId: string,
  offerId: string,
): Promise<OfferPage> {
  const head = await getElectionHead(actor, countyId, electionId)
  const row = /^[0-9a-f-]{36}$/.test(offerId)
    ? await db().offer.findUnique({
        where: { id: offerId },
        include: {
          seat: { select: SEAT_COLUMNS },
          events: { orderBy: { sequence: 'asc' } },
          election: { include: { county: { select: { timeZone: true } } } },
          pollWorker: {
            select: {
              id: true,
              givenName: true,
              familyName: true,
              countyRef: true,
              phone: true,
              ...REACH_COLUMNS,
            },
          },
        },
      })
    : null
  if (!row || row.electionId !== electionId) throw noOffer()
  const today = civilDateAt(systemClock.now(), row.election.county.timeZone)
  const [[standing], accounts, seating] = await Promise.all([
    listStandings(db(), electionId, today, row.id),
    db().account.findMany({
      where: { id: { in: row.events.flatMap((e) => e.accountId ?? []) } },
      select: { id: true, name: true, pollWorkerId: true },
    }),
    head.roster
      ? db().seating.findFirst({
          where: {
            rosterId: head.roster.id,
            seatId: row.seatId,
            ...atThatTime(row.shift, row.seat.servesOn),
          },
          select: { pollWorkerId: true, pollWorker: { select: { givenName: true, familyName: true } } },
        })
      : null,
  ])
  const names = new Map(accounts.map((a) => [a.id, a.name]))
  const { state } = standing!
  const mayWrite = can(actor, 'changeRoster', countyId)
  const may = (kind: Parameters<typeof mayHappen>[0]) => mayWrite && mayHappen(kind, state)
  const isFree = seating === null && (state === 'declined' || state === 'withdrawn')
  const reach = reachOf(row.pollWorker)
  return {
    head,
    id: row.id,
    timeZone: row.election.county.timeZone,
    person: {
      id: row.pollWorker.id,
      name: `${row.pollWorker.givenName} ${row.pollWorker.familyName}`,
      countyRef: row.pollWorker.countyRef,
      phone: row.pollWorker.phone,
      email: reach.address,
    },
    seat: {
      id: row.seat.id,
      position: row.seat.position.nameEn,
      servesOn: row.seat.servesOn as CivilDate,
      shift: row.shift,
      place: row.seat.pollingPlace.name,
      placeId: row.seat.pollingPlace.id,
    },
    standing: standing!,
    may: {
      accept: may('accepted'),
      decline: may('declined'),
      ask: may('askedElsewhere'),
      extend: may('extended'),
      withdraw: may('withdrawn'),
      call: may('called'),
      markReturned: may('returned') && standing!.channel === 'letter' && !standing!.letterReturned,
      replace: mayWrite && isFree,
    },
    link: offerAddress(row.id),
    language: reach.locale,
    events: row.events.map((e) => ({
      kind: e.kind,
      at: e.at,
      via: e.via,
      by: e.accountId ? (names.get(e.accountId) ?? 'an account that is gone') : null,
      answerBy: e.answerBy as CivilDate | null,
      reason: e.reason,
      note: e.note,
    })),
    nowSeated:
      seating && seating.pollWorkerId !== row.pollWorkerId
        ? { name: `${seating.pollWorker.givenName} ${seating.pollWorker.familyName}` }
        : null,
    replacements: isFree
      ? await listReplacements(
          actor,
          { seatId: row.seatId, part: dayPartOf(row.shift) },
          { countyId, workerId: row.pollWorkerId },
        )
      : null,
    suggestedAnswerBy: earlierOf(addDays(today, 4), addDays(head.heldOn, -1)),
  }
}
