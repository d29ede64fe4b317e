'use server'
import {
  ApplyCrewsInput,
  applyCrews,
  CrewRulesInput,
  changeCrewByHand,
  HandChangeInput,
  publishCrewRules,
} from '@/lib/crews/commands'
import { defineAction } from '@/lib/web/define-action'

export const publishCrewRulesAction = defineAction(CrewRulesInput, async (actor, input) => {
  const version = await publishCrewRules(actor, input)
  return { goTo: `/office/${input.countyId}/crews?said=published&version=${version}` }
})

export const changeCrewAction = defineAction(HandChangeInput, async (actor, input) => {
  await changeCrewByHand(actor, input)
  return { goTo: `/office/${input.countyId}/crews?election=${input.electionId}&said=changed` }
})

export const applyCrewsAction = defineAction(ApplyCrewsInput, async (actor, input) => {
  const { added, removed } = await applyCrews(actor, input)
  return {
    goTo: `/office/${input.countyId}/crews?election=${input.electionId}&said=applied&added=${added}&removed=${removed}`,
  }
})
