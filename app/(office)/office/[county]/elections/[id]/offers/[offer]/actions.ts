'use server'
import { z } from 'zod'
import {
  CallInput,
  ExtendInput,
  extendOffer,
  logCall,
  markLetterReturned,
  OfferInput,
  offerReplacement,
  ReplaceInput,
  WithdrawInput,
  withdrawOffer,
} from '@/lib/offers/commands'
import { RecordedAnswerVia, recordAnswer } from '@/lib/offers/commands-answer'
import { AnswerInput } from '@/lib/offers/schema'
import { defineAction } from '@/lib/web/define-action'
import { countyIn } from '../../county-in'

/** Where the form stands, for the way back. */
const Page = z.object({ ...countyIn, electionId: z.uuid() })
const back = (page: z.output<typeof Page>, offerId: string, said: string) => ({
  goTo: `/office/${page.countyId}/elections/${page.electionId}/offers/${offerId}?said=${said}`,
})

export const logCallAction = defineAction(CallInput.extend(Page.shape), async (actor, input) => {
  await logCall(actor, input)
  return back(input, input.offerId, 'called')
})

export const recordAnswerAction = defineAction(
  AnswerInput.and(Page.extend({ via: RecordedAnswerVia })),
  async (actor, input) => {
    await recordAnswer(actor, input)
    return back(input, input.offerId, 'answered')
  },
)

export const letterReturnedAction = defineAction(OfferInput.extend(Page.shape), async (actor, input) => {
  await markLetterReturned(actor, input)
  return back(input, input.offerId, 'returned')
})

export const extendOfferAction = defineAction(ExtendInput.extend(Page.shape), async (actor, input) => {
  await extendOffer(actor, input)
  return back(input, input.offerId, 'extended')
})

export const withdrawOfferAction = defineAction(WithdrawInput.extend(Page.shape), async (actor, input) => {
  await withdrawOffer(actor, input)
  return back(input, input.offerId, 'withdrawn')
})

export const replaceAction = defineAction(ReplaceInput.extend(Page.shape), async (actor, input) => {
  const { offerId } = await offerReplacement(actor, input)
  return back(input, offerId, 'replaced')
})
