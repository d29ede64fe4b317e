/** What an offer is, from what happened to it and the date: facts in, status out. */
import type { CivilDate } from '@/lib/kernel/dates'

export type OfferEventKind =
  | 'offered'
  | 'extended'
  | 'accepted'
  | 'declined'
  | 'askedElsewhere'
  | 'withdrawn'
  | 'called'
  | 'returned'

export interface OfferEventFacts {
  kind: OfferEventKind
  /** Of `offered` and `extended`: the last civil date for an answer. */
  answerBy: CivilDate | null
}

/** `open`: no answer yet. `overdue`: none, and the deadline is over; an answer still counts. `asked`: they would rather
 *  work elsewhere. `withdrawn`: taken back by the office. */
export type OfferState = 'open' | 'overdue' | 'accepted' | 'asked' | 'declined' | 'withdrawn'

export const OFFER_STATES = ['accepted', 'open', 'overdue', 'asked', 'declined', 'withdrawn'] as const

export interface OfferStatus {
  state: OfferState
  answerBy: CivilDate
  /** Times somebody tried to call since the seat was (last) offered. */
  calls: number
  /** The letter came back since then. */
  letterReturned: boolean
}

/** The last event of one of these kinds decides; the others only tell more. */
export const DECISIVE = ['offered', 'accepted', 'declined', 'askedElsewhere', 'withdrawn'] as const
export type DecisiveKind = (typeof DECISIVE)[number]

const isDecisive = (kind: OfferEventKind): kind is DecisiveKind =>
  (DECISIVE as readonly string[]).includes(kind)

/** The state from the event that decides. A deadline includes its own day. */
export function stateAfter(decisive: DecisiveKind, answerBy: CivilDate, today: CivilDate): OfferState {
  switch (decisive) {
    case 'offered':
      return today > answerBy ? 'overdue' : 'open'
    case 'askedElsewhere':
      return 'asked'
    default:
      return decisive
  }
}

/** The status of an offer on a day. `events` in order, the first is the offer itself. O(events).
 *  @throws RangeError where no event is an offer with a deadline. */
export function offerStatus(events: readonly OfferEventFacts[], today: CivilDate): OfferStatus {
  let decisive: DecisiveKind | null = null
  let answerBy: CivilDate | null = null
  let calls = 0
  let letterReturned = false
  for (const event of events) {
    if (event.kind === 'offered') {
      calls = 0
      letterReturned = false
    }
    if (isDecisive(event.kind)) decisive = event.kind
    if (event.answerBy !== null) answerBy = event.answerBy
    if (event.kind === 'called') calls++
    if (event.kind === 'returned') letterReturned = true
  }
  if (decisive === null || answerBy === null)
    throw new RangeError('an offer begins with an event "offered" that has a deadline')
  return { state: stateAfter(decisive, answerBy, today), answerBy, calls, letterReturned }
}

const FROM: Record<OfferEventKind, readonly OfferState[]> = {
  offered: ['declined', 'withdrawn'],
  extended: ['open', 'overdue'],
  accepted: ['open', 'overdue', 'asked'],
  declined: ['open', 'overdue', 'asked', 'accepted'],
  askedElsewhere: ['open', 'overdue', 'accepted'],
  withdrawn: ['open', 'overdue', 'asked', 'accepted', 'declined'],
  called: ['open', 'overdue', 'asked', 'accepted', 'declined'],
  returned: ['open', 'overdue', 'asked', 'accepted', 'declined'],
}

/** May this happen to an offer in this state? Somebody who declined is asked anew by a new offer only, since the seat
 *  may be somebody else's by then. */
export const mayHappen = (kind: OfferEventKind, state: OfferState): boolean => FROM[kind].includes(state)
