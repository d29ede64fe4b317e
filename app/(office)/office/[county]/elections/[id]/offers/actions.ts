'use server'
import { ExtendAllInput, extendAll, OfferSettingsInput, setOfferSettings } from '@/lib/offers/commands'
import { cancelLetters, LettersInput, requestLetters } from '@/lib/offers/commands-letters'
import { requestSending, SendOffersInput, StopSendingInput, stopSending } from '@/lib/offers/commands-send'
import { defineAction } from '@/lib/web/define-action'
import { countyIn } from '../county-in'

const to = (input: { countyId: string; electionId: string }, said = '') =>
  `/office/${input.countyId}/elections/${input.electionId}/offers${said && `?said=${said}`}`

export const sendOffersAction = defineAction(SendOffersInput.extend(countyIn), async (actor, input) => {
  await requestSending(actor, input)
  return { goTo: to(input) }
})

export const stopSendingAction = defineAction(StopSendingInput.extend(countyIn), async (actor, input) => {
  await stopSending(actor, input)
  return { goTo: to(input, 'stopped') }
})

const toLetters = (input: { countyId: string; electionId: string }) => ({ goTo: `${to(input)}#send` })

export const askLettersAction = defineAction(LettersInput.extend(countyIn), async (actor, input) => {
  await requestLetters(actor, input)
  return toLetters(input)
})

export const stopLettersAction = defineAction(LettersInput.extend(countyIn), async (actor, input) => {
  await cancelLetters(actor, input)
  return toLetters(input)
})

export const extendAllAction = defineAction(ExtendAllInput.extend(countyIn), async (actor, input) => {
  await extendAll(actor, input)
  return { goTo: to(input, 'extended') }
})

export const offerSettingsAction = defineAction(OfferSettingsInput, async (actor, input) => {
  await setOfferSettings(actor, input)
  return { message: 'Saved. Letters and pages say this from now on.' }
})
