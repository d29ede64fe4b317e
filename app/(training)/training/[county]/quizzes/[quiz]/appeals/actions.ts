'use server'
import { AppealForInput, enterAppealFor, RejectInput, rejectAppeal } from '@/lib/assessment/commands-appeals'
import { orderRemark, RemarkInput } from '@/lib/assessment/commands-remark'
import { Id } from '@/lib/scenarios/schema'
import { defineAction } from '@/lib/web/define-action'

export const rejectAppealAction = defineAction(RejectInput.extend({ quizKey: Id }), async (actor, input) => {
  await rejectAppeal(actor, input)
  return { goTo: `/training/${input.countyId}/quizzes/${input.quizKey}/appeals` }
})

export const applyRemarkAction = defineAction(RemarkInput, async (actor, input) => {
  await orderRemark(actor, input)
  return { goTo: `/training/${input.countyId}/quizzes/${input.quizKey}/appeals` }
})

export const enterAppealForAction = defineAction(
  AppealForInput.extend({ quizKey: Id }),
  async (actor, input) => {
    await enterAppealFor(actor, input)
    return { goTo: `/training/${input.countyId}/quizzes/${input.quizKey}/appeals` }
  },
)
