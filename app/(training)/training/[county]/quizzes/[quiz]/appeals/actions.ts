'use server'
import { applyRemark, RejectInput, RemarkInput, rejectAppeal } from '@/lib/assessment/commands-appeals'
import { defineAction } from '@/lib/web/define-action'

export const rejectAppealAction = defineAction(RejectInput, async (actor, input) => {
  await rejectAppeal(actor, input)
  return { message: 'The appeal is rejected. The person reads your reason on the result page.' }
})

export const applyRemarkAction = defineAction(RemarkInput, async (actor, input) => {
  await applyRemark(actor, input)
  return { goTo: `/training/${input.countyId}/quizzes/${input.quizKey}/appeals` }
})
