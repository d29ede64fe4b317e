'use server'
import { answerOffer } from '@/lib/offers/commands-answer'
import { AnswersInput, each } from '@/lib/offers/schema'
import { defineAction } from '@/lib/web/define-action'

export const answerOffersAction = defineAction(AnswersInput, async (actor, input) => {
  for (const one of each(input)) await answerOffer(actor, one)
  return { goTo: `/offers?said=${input.answer}` }
})
