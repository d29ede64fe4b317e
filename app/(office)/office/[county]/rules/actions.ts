'use server'
import { PublishRuleInput, publishRuleSet } from '@/lib/certification/commands-rules'
import { defineAction } from '@/lib/web/define-action'

export const publishRuleAction = defineAction(PublishRuleInput, async (actor, input) => {
  await publishRuleSet(actor, input)
  return { goTo: `/office/${input.countyId}/rules?published=${input.certificateKey}` }
})
