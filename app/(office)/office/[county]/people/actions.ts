'use server'
import { ChangeTogetherInput, changeTogether } from '@/lib/people/commands-together'
import { KeepViewInput, keepView, RemoveViewInput, removeView } from '@/lib/people/commands-views'
import { defineAction } from '@/lib/web/define-action'

export const keepViewAction = defineAction(KeepViewInput, async (actor, input) => ({
  goTo: `/office/${input.countyId}/people?${await keepView(actor, input)}&said=view-kept`,
}))

export const removeViewAction = defineAction(RemoveViewInput, async (actor, input) => {
  await removeView(actor, input)
  return { goTo: `/office/${input.countyId}/people?said=view-removed` }
})

export const changeTogetherAction = defineAction(ChangeTogetherInput, async (actor, input) => {
  const people = await changeTogether(actor, input)
  return { goTo: `/office/${input.countyId}/people?said=changed-together&people=${people}` }
})
