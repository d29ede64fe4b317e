'use server'
import { PublishInput, publishRoster } from '@/lib/roster/commands'
import { cancelRosterRun, RunInput, requestRosterRun } from '@/lib/roster/commands-run'
import { defineAction } from '@/lib/web/define-action'
import { countyIn } from './county-in'
import { unlessStale } from './unless-stale'

export const fillSeatsAction = defineAction(RunInput.extend(countyIn), async (actor, input) => {
  await requestRosterRun(actor, input)
  return { goTo: `/office/${input.countyId}/elections/${input.electionId}` }
})

export const stopRunAction = defineAction(RunInput.extend(countyIn), async (actor, input) => {
  await cancelRosterRun(actor, input)
  return { goTo: `/office/${input.countyId}/elections/${input.electionId}?said=cancelled` }
})

export const publishAction = defineAction(PublishInput.extend(countyIn), async (actor, input) => {
  const to = (said: string) => `/office/${input.countyId}/elections/${input.electionId}?said=${said}`
  return unlessStale(() => publishRoster(actor, input), 'published', to)
})
