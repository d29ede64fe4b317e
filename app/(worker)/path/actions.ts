'use server'
import { setWantedPosition, WishInput } from '@/lib/path/commands'
import { defineAction } from '@/lib/web/define-action'

export const setWantedPositionAction = defineAction(WishInput, async (actor, input) => {
  await setWantedPosition(actor, input)
  return { goTo: '/path?said=saved' }
})
