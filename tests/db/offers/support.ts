import type { Actor } from '@/lib/auth/actor'
import { db } from '@/lib/db/client'
import { type CivilDate, civilDate } from '@/lib/kernel/dates'
import { requestSending, sendOffers } from '@/lib/offers/commands-send'
import { publishRoster, seatPerson } from '@/lib/roster/commands'
import { actorWith, makeSmallCounty, markOf, type SmallCounty } from '../roster/support'

export const ANSWER_BY = civilDate('2028-10-20')

/** The small county with Ana as northern lead (an e-mail) and Ben at the northern check-in (Spanish, a letter),
 *  published. */
export async function makePublished(): Promise<SmallCounty> {
  const county = await makeSmallCounty()
  await db().pollWorker.update({
    where: { id: county.people.ana },
    data: { email: `${county.countyId}@ana.example` },
  })
  await db().pollWorker.update({
    where: { id: county.people.ben },
    data: { languages: ['es'], homeAddress: '3 Elm Street, Town' },
  })
  for (const [seatId, workerId] of [
    [county.seats.northLead, county.people.ana],
    [county.seats.northCheckIn, county.people.ben],
  ] as const)
    await seatPerson(county.clerk, {
      electionId: county.electionId,
      seatId,
      workerId,
      expected: await markOf(county.electionId),
      move: 'no',
    })
  await publishRoster(county.clerk, {
    electionId: county.electionId,
    expected: await markOf(county.electionId),
  })
  return county
}

export async function sendAll(county: SmallCounty, answerBy: CivilDate = ANSWER_BY): Promise<string> {
  const { sendingId } = await requestSending(county.clerk, { electionId: county.electionId, answerBy })
  await sendOffers(sendingId)
  return sendingId
}

export const offerOf = (seatId: string, pollWorkerId: string, shift = 'full') =>
  db().offer.findUniqueOrThrow({
    where: { seatId_pollWorkerId_shift: { seatId, pollWorkerId, shift } },
    include: { events: { orderBy: { sequence: 'asc' } } },
  })

/** The poll worker, signed in. */
export const asWorker = (countyId: string, pollWorkerId: string): Actor => ({
  ...actorWith('pollWorker', countyId),
  pollWorkerId,
})
