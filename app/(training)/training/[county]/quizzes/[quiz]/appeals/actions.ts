'use server'
import { applyRemark, RejectInput, RemarkInput, rejectAppeal } from '@/lib/assessment/commands-appeals'
import { Id } from '@/lib/scenarios/schema'
import { defineAction } from '@/lib/web/define-action'

export const rejectAppealAction = defineAction(RejectInput.extend({ quizKey: Id }), async (actor, input) => {
  await rejectAppeal(actor, input)
  return { goTo: `/training/${input.countyId}/quizzes/${input.quizKey}/appeals` }
})

export const applyRemarkAction = defineAction(RemarkInput, async (actor, input) => {
  await applyRemark(actor, input)
  return { goTo: `/training/${input.countyId}/quizzes/${input.quizKey}/appeals` }
})
