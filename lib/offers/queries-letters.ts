import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import type { CivilDate } from '@/lib/kernel/dates'
import type { Locale } from '@/lib/kernel/wording'
import { REACH_COLUMNS, reachOf } from '@/lib/people/reach'
import { getElectionHead } from '@/lib/roster/queries'
import { noOffer, offered, SEAT_COLUMNS, seatLine } from './facts'
import { offerAddress } from './link'
import { type OfferSettings, offerSettingsOf } from './schema'

/** Letters in one file: more would keep the web process from other people for too long. */
export const LETTERS_A_FILE = 100

export interface LetterToPrint {
  locale: Locale
  name: string
  /** Null: protected or not known; the letter is addressed by hand. */
  address: string | null
  link: string
  answerBy: CivilDate
  electionName: string
  seats: string[]
  countyName: string
  settings: OfferSettings
}

/** The letters of a sending: everybody whom no e-mail reaches, in name order, one letter a person. Or the letter of one
 *  offer, for anybody. Offers taken back or declined since then are left out.
 *  @throws AppError NOT_FOUND, FORBIDDEN */
export async function listLetters(
  actor: Actor,
  countyId: string,
  electionId: string,
  of: { sendingId: string } | { offerId: string },
): Promise<LetterToPrint[]> {
  const head = await getElectionHead(actor, countyId, electionId)
  assertCan(actor, 'changeRoster', countyId)
  assertCan(actor, 'readHomeAddress', countyId)
  const mayReadProtected = can(actor, 'readConfidentialAddress', countyId)
  const alone = 'offerId' in of
  if (!/^[0-9a-f-]{36}$/.test(alone ? of.offerId : of.sendingId)) throw noOffer()
  const rows = await db().offer.findMany({
    where: { electionId, ...(alone ? { id: of.offerId } : { sendingId: of.sendingId }) },
    include: {
      seat: { select: SEAT_COLUMNS },
      events: { orderBy: { sequence: 'asc' }, select: { kind: true, via: true, answerBy: true } },
      election: { select: { county: { select: { name: true, settings: true } } } },
      pollWorker: {
        select: {
          id: true,
          givenName: true,
          familyName: true,
          homeAddress: true,
          confidentialAddress: true,
          ...REACH_COLUMNS,
        },
      },
    },
    orderBy: [
      { pollWorker: { familyName: 'asc' } },
      { pollWorker: { givenName: 'asc' } },
      { pollWorkerId: 'asc' },
      { seat: { servesOn: 'asc' } },
    ],
  })
  if (rows.length === 0) throw noOffer()
  const letters = new Map<string, LetterToPrint>()
  for (const row of rows) {
    const by = row.events.findLast((e) => e.kind === 'offered')?.via
    const isOver = row.events.findLast((e) => e.kind === 'declined' || e.kind === 'withdrawn')
    if (!alone && (by !== 'letter' || isOver)) continue
    const { pollWorker: worker, election } = row
    const { locale } = reachOf(worker)
    const line = seatLine(offered(row), head.heldOn, election.county.settings, locale)
    const begun = letters.get(worker.id)
    if (begun) begun.seats.push(line)
    else
      letters.set(worker.id, {
        locale,
        name: `${worker.givenName} ${worker.familyName}`,
        address: worker.confidentialAddress && !mayReadProtected ? null : worker.homeAddress,
        link: offerAddress(row.id),
        answerBy: row.events.findLast((e) => e.answerBy !== null)!.answerBy as CivilDate,
        electionName: head.name,
        seats: [line],
        countyName: election.county.name,
        settings: offerSettingsOf(election.county.settings),
      })
  }
  return [...letters.values()]
}
