import { dateInWords } from '@/lib/kernel/date-words'
import type { CivilDate } from '@/lib/kernel/dates'
import { milesText } from '@/lib/kernel/miles'
import { halfCode, type Ineligibility, ineligibility, metresBetween } from './core/eligibility'
import type { HalfOrFull, RosterInstance } from './schema'

/** Words for what the optimiser says by keys. Pure; English, for the county's staff. */

export const SHIFT_WORDS: Record<string, string> = {
  full: 'whole day',
  morning: 'morning',
  afternoon: 'afternoon',
}

export interface Refusal {
  why: Ineligibility
  sentence: string
}

/** Why a person can't take a seat, in one sentence that begins with the name; null when they can.
 *  `addressProtected`: no distance is told. */
export function refusalOf(
  instance: RosterInstance,
  who: { id: string; name: string; addressProtected: boolean },
  seat: { id: string; part: HalfOrFull; positionName: string; servesOn: string },
): Refusal | null {
  const person = instance.people.find((p) => p.id === who.id)
  const row = instance.seats.find((s) => s.id === seat.id)
  // Who offers the whole day may also take one half of a seat.
  const asked = row && { ...row, shift: seat.part }
  if (!person || !asked) return { why: 'excluded', sentence: `${who.name} is not on this county’s list.` }
  const why = ineligibility(instance, person, asked, halfCode(seat.part))
  if (why === null) return null
  const onText = dateInWords(seat.servesOn as CivilDate, 'en')
  return { why, sentence: sentenceOf(why) }

  function sentenceOf(reason: Ineligibility): string {
    switch (reason) {
      case 'certificate':
        return `${who.name} does not hold the certificate for ${seat.positionName} on ${onText}.`
      case 'availability':
        return asked!.shift === 'full' && person!.available?.some((a) => a.date === asked!.date)
          ? `${who.name} offers half a day only; that is half of this seat, which is for the whole day.`
          : `${who.name} is not available for the ${SHIFT_WORDS[asked!.shift]} on ${onText}.`
      case 'skill':
        return `${who.name} does not have a skill that this seat asks for.`
      case 'travel': {
        if (who.addressProtected) return `${who.name} lives further away than they are ready to travel.`
        const place = instance.places.find((p) => p.id === asked!.placeId)!
        return `${who.name} lives ${milesText(metresBetween(person!.at, place.at) / 1000)} away and is ready to travel ${milesText(person!.maxTravelKm ?? 0)}.`
      }
      case 'excluded':
        return `${who.name} may not serve on that day: no longer active, excluded, or by the county’s rules. Their page says why.`
      case 'excluded-place':
        return `${who.name} may not serve at this place.`
      case 'language':
        return `${who.name} does not speak a language that this seat asks for.`
      case 'experience':
        return `${who.name} has not served as often as this seat asks for.`
      case 'residence':
        return `${who.name} does not live where people for this place must live.`
    }
  }
}

/** What a move changes in travel, all concerned together. Null: an address is protected or not known. */
export const travelChangeText = (changeKm: number | null): string =>
  changeKm === null
    ? 'No distance shown: an address is protected or not known.'
    : Math.abs(changeKm) < 0.05
      ? 'The travel stays the same.'
      : changeKm < 0
        ? `Saves ${milesText(-changeKm)} of travel.`
        : `Costs ${milesText(changeKm)} more travel.`

/** Two clerks at once: the second is told, and sees the roster as it is now. */
export const STALE =
  'Somebody changed this roster since you opened the page; nothing of yours was saved. This is how it is now: look at it, then repeat your change.'

/** What the board says after a move: fixed sentences by key, so that no text comes from an address line. */
export const SAID = {
  seated: 'Done. The seat is filled.',
  emptied: 'Done. Nobody sits there now.',
  locked: 'Locked. The next run leaves this seat as it is.',
  unlocked: 'Unlocked. The next run may change this seat.',
  moved: 'Done. The person sits in the new seat, and the old one is empty.',
  swapped: 'Done. The two people changed seats.',
  published: 'Published. This version stays as it is; a further change starts a new draft.',
  asked: 'The run is waiting for its turn. You can go on working.',
  cancelled: 'The run is being stopped. The roster stays as it was.',
  saved: 'Saved.',
  stale: STALE,
} as const
export type SaidKey = keyof typeof SAID

export const saidOf = (key: string | undefined): string | null =>
  key && Object.hasOwn(SAID, key) ? SAID[key as SaidKey] : null
