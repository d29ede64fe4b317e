'use server'
import { ElectionInput, makeElection } from '@/lib/elections/commands'
import { defineAction } from '@/lib/web/define-action'

export const makeElectionAction = defineAction(ElectionInput, async (actor, input) => {
  const electionId = await makeElection(actor, input)
  return input.fromElectionId
    ? { goTo: `/office/${input.countyId}/elections/${electionId}` }
    : { goTo: `/office/${input.countyId}/crews?election=${electionId}` }
})
