'use server'
import { AskCorrectionInput, askForCorrection } from '@/lib/record/commands-corrections'
import { defineAction } from '@/lib/web/define-action'

export const askForCorrectionAction = defineAction(AskCorrectionInput, async (actor, input) => {
  await askForCorrection(actor, input)
  return { goTo: '/certificates/record?said=asked#correct' }
})
