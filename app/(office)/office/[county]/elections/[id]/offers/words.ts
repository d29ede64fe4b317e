import type { OfferState } from '@/lib/offers/core/status'
import type { CallOutcome, DeclineReason } from '@/lib/offers/schema'

/** The office's words for offers. */

export const STATE_TEXT: Record<OfferState, string> = {
  accepted: 'accepted',
  open: 'no answer yet',
  overdue: 'deadline over, no answer',
  asked: 'asks for another place',
  declined: 'declined',
  withdrawn: 'taken back',
}
export const STATE_KIND = {
  accepted: 'good',
  open: 'info',
  overdue: 'warn',
  asked: 'warn',
  declined: 'bad',
  withdrawn: 'info',
} as const
/** A sign beside the words, so that colour is not needed. */
export const STATE_SIGN: Record<OfferState, string> = {
  accepted: '✓',
  open: '…',
  overdue: '!',
  asked: '?',
  declined: '✕',
  withdrawn: '–',
}

export const REASON_TEXT: Record<DeclineReason, string> = {
  away: 'away or busy on that day',
  far: 'too far',
  hours: 'the hours are too long',
  position: 'would rather do other work',
  private: 'personal reasons',
  stop: 'doesn’t want to serve any more',
}

export const CALL_TEXT: Record<CallOutcome, string> = {
  reached: 'reached',
  message: 'left a message',
  noAnswer: 'nobody answered',
  wrongNumber: 'wrong number',
}

export const VIA_TEXT: Record<string, string> = {
  mail: 'by e-mail',
  letter: 'by letter',
  page: 'signed in, on their page',
  link: 'by the link of their letter',
  phone: 'by telephone',
  paper: 'on paper',
  office: 'by the office',
}

export const EVENT_TEXT: Record<string, string> = {
  offered: 'Offered',
  extended: 'More time given',
  accepted: 'Accepted',
  declined: 'Declined',
  askedElsewhere: 'Asked for another place',
  withdrawn: 'Taken back',
  called: 'Called',
  returned: 'Letter came back',
}

export const SAID: Record<string, string> = {
  stopped:
    'The sending stops after the people it is at. What was sent stays sent; sending again goes on from there.',
  extended: 'More time is given.',
  called: 'The call is written down.',
  answered: 'The answer is written down.',
  returned: 'Written down: the letter came back. Call the person, or correct the address on their page.',
  withdrawn: 'Taken back. The seat is empty in the draft; the person is told where there is an e-mail.',
  replaced:
    'Done: this person has the seat in the draft and is being asked. Publish the draft when you are ready.',
}
