import { z } from 'zod'
import { appendAudit } from '@/lib/audit/append'
import type { Actor } from '@/lib/auth/actor'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import { dateInWords } from '@/lib/kernel/date-words'
import type { CivilDate } from '@/lib/kernel/dates'
import { AppError } from '@/lib/kernel/errors'
import type { Locale } from '@/lib/kernel/wording'
import { writeNotice } from '@/lib/notices/outbox'
import { assertNearOthers, PlaceInput, placeToChange } from '@/lib/places/commands'
import { type MovedTo, moveToken, type TouchedPerson, whatAMoveTouches } from './facts-move'

export const MovedToInput = PlaceInput.pick({ name: true, address: true, lat: true, lon: true })

export const MoveInput = MovedToInput.extend({
  countyId: z.string().min(1).max(100),
  placeId: z.uuid(),
  electionId: z.uuid(),
  reason: z.string().trim().min(1, 'Say why, in a few words.').max(300),
  token: z.string().max(64),
})

/** Does a place stand there already? A move to there would only write people a senseless message. */
export const isWhere = (place: MovedTo, to: MovedTo): boolean =>
  place.name === to.name && place.address === to.address && place.lat === to.lat && place.lon === to.lon

const SHIFTS: Record<string, { en: string; es: string }> = {
  full: { en: 'whole day', es: 'todo el día' },
  morning: { en: 'morning', es: 'por la mañana' },
  afternoon: { en: 'afternoon', es: 'por la tarde' },
}

const workOf = (person: TouchedPerson, locale: Locale): string =>
  person.seats
    .map(
      (seat) =>
        `    ${seat.position[locale]}, ${dateInWords(seat.servesOn as CivilDate, locale)}, ${SHIFTS[seat.shift]?.[locale] ?? seat.shift}`,
    )
    .join('\n')

/** Moves a place for an election, keeps where it was, and writes once to everybody who sits there, in one transaction.
 *  Where no roster was published yet, nobody is: they have not been asked. Refuses where the place or its people are others than the preview showed. Returns how many were written to.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT */
export async function movePlace(actor: Actor, input: z.output<typeof MoveInput>): Promise<number> {
  return transaction(async (tx) => {
    const place = await placeToChange(tx, actor, input)
    const { countyId, electionId, reason, name, address, lat, lon } = input
    const election = await tx.election.findUnique({ where: { id: electionId } })
    if (election?.countyId !== countyId)
      throw new AppError('NOT_FOUND', { userMessage: 'There is no such election in this county.' })
    const to = { name, address, lat, lon }
    const touched = await whatAMoveTouches(tx, electionId, place.id, to)
    if (moveToken(place, to, touched) !== input.token)
      throw new AppError('CONFLICT', {
        userMessage:
          'The place or its people have changed since you looked; nothing was moved and nobody was told. Look again, then confirm.',
      })
    if (isWhere(place, to))
      throw new AppError('INVALID_INPUT', {
        userMessage: 'This is where the place is now: nothing was moved, and nobody was written to.',
      })
    await assertNearOthers(tx, { countyId, placeId: place.id, lat, lon })
    const at = systemClock.now()
    const before = { name: place.name, address: place.address, lat: place.lat, lon: place.lon }
    await tx.pollingPlace.update({ where: { id: place.id }, data: { ...to, located: true } })
    const reached = touched.asked ? touched.people.filter((p) => p.reach.address !== null) : []
    const move = await tx.placeMove.create({
      data: {
        ...{ countyId, electionId, pollingPlaceId: place.id, before, after: to, reason },
        peopleTold: reached.length,
        movedBy: actor.accountId,
        movedAt: at,
      },
    })
    const county = await tx.county.findUniqueOrThrow({ where: { id: countyId } })
    for (const person of reached) {
      const { address: mail, locale, accountId } = person.reach
      await writeNotice(tx, {
        kind: 'place-moved',
        values: {
          name: person.name,
          work: workOf(person, locale),
          from: `${before.name}, ${before.address}`,
          to: `${name}, ${address}`,
          reason,
          office: county.name,
        },
        to: { address: mail!, locale, accountId },
        countyId,
        onceKey: `place-moved:${move.id}:${person.id}`,
        at,
      })
    }
    await appendAudit(
      tx,
      { chain: countyId, actorAccountId: actor.accountId, at },
      {
        event: 'place.moved',
        subject: `place:${place.id}`,
        detail: { moveId: move.id, electionId, peopleTold: reached.length },
      },
    )
    return reached.length
  })
}
