'use server'
import { changeOffer, OfferInput } from '@/lib/people/commands'
import { defineAction } from '@/lib/web/define-action'

export const changeOfferAction = defineAction(OfferInput, async (actor, input) => {
  await changeOffer(actor, input)
  return { goTo: `/office/${input.countyId}/people/${input.workerId}?said=saved` }
})
