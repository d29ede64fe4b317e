'use server'
import {
  DoubleEntryInput,
  DrawPaperInput,
  drawPaperForm,
  setDoubleEntry,
  TypePaperInput,
  typePaperAnswers,
  WithdrawPaperInput,
  withdrawPaperForm,
} from '@/lib/assessment/commands-paper'
import { AppError } from '@/lib/kernel/errors'
import { Id } from '@/lib/scenarios/schema'
import { defineAction } from '@/lib/web/define-action'

export const drawPaperAction = defineAction(DrawPaperInput, async (actor, input) => {
  const { attemptId } = await drawPaperForm(actor, input)
  return { goTo: `/training/${input.countyId}/quizzes/${input.quizKey}/paper/${attemptId}` }
})

export const typePaperAction = defineAction(TypePaperInput.extend({ quizKey: Id }), async (actor, input) => {
  const typed = await typePaperAnswers(actor, input)
  if (typed.status === 'differs')
    throw new AppError('CONFLICT', {
      userMessage: `It is kept, and it differs from what somebody else typed, at ${typed.numbers.map((n) => `question ${n}`).join(', ')}. Look at the sheet again and correct your typing; if yours is right, the other person types again.`,
    })
  return { goTo: `/training/${input.countyId}/quizzes/${input.quizKey}/paper` }
})

export const doubleEntryAction = defineAction(DoubleEntryInput, async (actor, input) => {
  await setDoubleEntry(actor, input)
  return {
    message:
      input.required === 'yes'
        ? 'From now on two people type each sheet.'
        : 'From now on one typing is enough.',
  }
})

export const withdrawPaperAction = defineAction(
  WithdrawPaperInput.extend({ quizKey: Id }),
  async (actor, input) => {
    await withdrawPaperForm(actor, input)
    return { goTo: `/training/${input.countyId}/quizzes/${input.quizKey}/paper` }
  },
)
