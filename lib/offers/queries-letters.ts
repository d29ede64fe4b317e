import type { Actor } from '@/lib/auth/actor'
import { assertCan, can } from '@/lib/auth/permissions'
import { db } from '@/lib/db/client'
import type { CivilDate } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import { REACH_COLUMNS, reachOf } from '@/lib/people/reach'
import { getElectionHead } from '@/lib/roster/queries'
import { listOrderRows, type NewestOrders, newestOf, type OrderView } from '@/lib/roster/queries-packet'
import { noOffer, offered, SEAT_COLUMNS, seatLine } from './facts'
import type { LetterToPrint } from './letter'
import { offerAddress } from './link'
import { offerSettingsOf } from './schema'

/** The letter of one offer, for anybody. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getLetter(
  actor: Actor,
  countyId: string,
  electionId: string,
  offerId: string,
): Promise<LetterToPrint> {
  await getElectionHead(actor, countyId, electionId)
  assertCan(actor, 'changeRoster', countyId)
  assertCan(actor, 'readHomeAddress', countyId)
  const mayReadProtected = can(actor, 'readConfidentialAddress', countyId)
  const [letter] = isId(offerId) ? await loadLetters({ electionId, id: offerId }, mayReadProtected) : []
  if (!letter) throw noOffer()
  return letter
}

const isId = (text: string) => /^[0-9a-f-]{36}$/.test(text)

/** The letters of a sending: everybody whom no e-mail reaches, in name order, one letter a person;
 *  offers taken back or declined since then are left out. Or the letter of one offer,
 *  whatever became of it. Authorises nobody: for the job that somebody was allowed to ask for, and for `getLetter`. */
export async function loadLetters(
  of: { sendingId: string } | { electionId: string; id: string },
  mayReadProtected = false,
): Promise<LetterToPrint[]> {
  const alone = 'id' in of
  const rows = await db().offer.findMany({
    where: of,
    include: {
      seat: { select: SEAT_COLUMNS },
      events: { orderBy: { sequence: 'asc' }, select: { kind: true, via: true, answerBy: true } },
      election: { select: { name: true, heldOn: true, county: { select: { name: true, settings: true } } } },
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
  const letters = new Map<string, LetterToPrint>()
  for (const row of rows) {
    const by = row.events.findLast((e) => e.kind === 'offered')?.via
    const isOver = row.events.findLast((e) => e.kind === 'declined' || e.kind === 'withdrawn')
    if (!alone && (by !== 'letter' || isOver)) continue
    const { pollWorker: worker, election } = row
    const { locale } = reachOf(worker)
    const line = seatLine(offered(row), election.heldOn as CivilDate, election.county.settings, locale)
    const begun = letters.get(worker.id)
    if (begun) begun.seats.push(line)
    else
      letters.set(worker.id, {
        locale,
        name: `${worker.givenName} ${worker.familyName}`,
        familyName: worker.familyName,
        address: worker.confidentialAddress && !mayReadProtected ? null : worker.homeAddress,
        link: offerAddress(row.id),
        answerBy: row.events.findLast((e) => e.answerBy !== null)!.answerBy as CivilDate,
        electionName: election.name,
        seats: [line],
        countyName: election.county.name,
        settings: offerSettingsOf(election.county.settings),
      })
  }
  return [...letters.values()]
}

/** The letters of a sending as its page shows them. */
export async function listLetterOrders(electionId: string, sendingId: string): Promise<NewestOrders> {
  const rows = await listOrderRows({ electionId, sendingId })
  // What a letter says changes with these.
  const last = await db().offerEvent.findFirst({
    where: { offer: { sendingId }, kind: { in: ['offered', 'extended', 'declined', 'withdrawn'] } },
    orderBy: { at: 'desc' },
    select: { at: true },
  })
  return newestOf(rows, (row) => last !== null && last.at > row.createdAt)
}

/** How far the letters of a sending are, for a page that asks again and again. */
export async function getLettersProgress(
  actor: Actor,
  countyId: string,
  electionId: string,
  sendingId: string,
): Promise<OrderView | null> {
  await getElectionHead(actor, countyId, electionId)
  return isId(sendingId) ? (await listLetterOrders(electionId, sendingId)).newest : null
}

/** One file of the letters of a sending. @throws AppError NOT_FOUND, FORBIDDEN */
export async function getLetterFile(
  actor: Actor,
  countyId: string,
  electionId: string,
  orderId: string,
  number: number,
): Promise<{ name: string; content: Uint8Array; sendingId: string }> {
  await getElectionHead(actor, countyId, electionId)
  assertCan(actor, 'changeRoster', countyId)
  assertCan(actor, 'readHomeAddress', countyId)
  const file =
    isId(orderId) && Number.isInteger(number)
      ? await db().paperFile.findFirst({
          where: {
            orderId,
            number,
            order: { electionId, countyId, sendingId: { not: null }, status: 'done' },
          },
          select: { name: true, content: true, order: { select: { sendingId: true } } },
        })
      : null
  if (!file)
    throw new AppError('NOT_FOUND', {
      userMessage: 'There is no such file: newer letters may have taken its place. Look at the offers page.',
    })
  return { name: file.name, content: file.content, sendingId: file.order.sendingId! }
}
