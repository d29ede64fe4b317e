'use server'
import { cancelPapers, PapersInput, requestPapers } from '@/lib/roster/commands-papers'
import { defineAction } from '@/lib/web/define-action'
import { countyIn } from '../county-in'

const back = (input: { countyId: string; electionId: string }) => ({
  goTo: `/office/${input.countyId}/elections/${input.electionId}/papers#county`,
})

export const askPapersAction = defineAction(PapersInput.extend(countyIn), async (actor, input) => {
  await requestPapers(actor, input)
  return back(input)
})

export const stopPapersAction = defineAction(PapersInput.extend(countyIn), async (actor, input) => {
  await cancelPapers(actor, input)
  return back(input)
})
