'use server'
import {
  AdoptInput,
  adoptPassMark,
  BeginPanelInput,
  beginPanel,
  ClosePanelInput,
  closePanel,
  RateInput,
  ratePanel,
} from '@/lib/assessment/commands-panels'
import { Id } from '@/lib/scenarios/schema'
import { defineAction } from '@/lib/web/define-action'

export const beginPanelAction = defineAction(BeginPanelInput, async (actor, input) => {
  const { panelId } = await beginPanel(actor, input)
  return { goTo: `/training/${input.countyId}/quizzes/${input.quizKey}/pass-mark/${panelId}` }
})

export const ratePanelAction = defineAction(RateInput.extend({ quizKey: Id }), async (actor, input) => {
  await ratePanel(actor, input)
  return { goTo: `/training/${input.countyId}/quizzes/${input.quizKey}/pass-mark/${input.panelId}` }
})

export const closePanelAction = defineAction(
  ClosePanelInput.extend({ quizKey: Id }),
  async (actor, input) => {
    await closePanel(actor, input)
    // The form that was pressed is gone with the next page, and a message in it would be too.
    return { goTo: `/training/${input.countyId}/quizzes/${input.quizKey}/pass-mark/${input.panelId}` }
  },
)

export const adoptPassMarkAction = defineAction(AdoptInput, async (actor, input) => {
  await adoptPassMark(actor, input)
  return {
    message: 'The pass mark is adopted. It counts for every sitting that begins from now on.',
  }
})
