'use server'
import {
  PayRatesInput,
  ServiceRulesInput,
  setPayRates,
  setServiceRules,
} from '@/lib/people/commands-settings'
import { getServiceSettings } from '@/lib/people/queries-history'
import { RosterRulesInput, setRosterRules } from '@/lib/roster/commands-rules'
import { defineAction } from '@/lib/web/define-action'

export const serviceRulesAction = defineAction(ServiceRulesInput, async (actor, input) => {
  await setServiceRules(actor, input)
  const { active, withoutHomePrecinct } = await getServiceSettings(actor, input.countyId)
  const unseated =
    input.residents === 'precinct' && withoutHomePrecinct > 0
      ? ` ${withoutHomePrecinct} of ${active} active people have no home precinct on record: no polling place that serves precincts may seat them. Correct their data, or bring the precincts in with a file of people.`
      : ''
  return { message: `Saved. From now on rosters follow this.${unseated}` }
})

export const rosterRulesAction = defineAction(RosterRulesInput, async (actor, input) => {
  await setRosterRules(actor, input)
  return { message: 'Saved. The next run follows this; rosters stay as they are.' }
})

export const payRatesAction = defineAction(PayRatesInput, async (actor, input) => {
  await setPayRates(actor, input)
  return { message: 'Saved. What is recorded already keeps its rate.' }
})
