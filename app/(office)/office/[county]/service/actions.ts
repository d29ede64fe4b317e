'use server'
import {
  PayRatesInput,
  ServiceRulesInput,
  setPayRates,
  setServiceRules,
} from '@/lib/people/commands-settings'
import { defineAction } from '@/lib/web/define-action'

export const serviceRulesAction = defineAction(ServiceRulesInput, async (actor, input) => {
  await setServiceRules(actor, input)
  return { message: 'Saved. From now on rosters follow this.' }
})

export const payRatesAction = defineAction(PayRatesInput, async (actor, input) => {
  await setPayRates(actor, input)
  return { message: 'Saved. What is recorded already keeps its rate.' }
})
