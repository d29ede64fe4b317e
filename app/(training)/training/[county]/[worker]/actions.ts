'use server'
import { CheckOffInput, RevokeFactInput, recordCheckOff, revokeFact } from '@/lib/certification/commands'
import { defineAction } from '@/lib/web/define-action'

export const recordCheckOffAction = defineAction(CheckOffInput, async (actor, input) => {
  const { recorded } = await recordCheckOff(actor, input)
  return { message: recorded ? 'The check-off is recorded.' : 'This check-off was already recorded.' }
})

export const revokeCheckOffAction = defineAction(RevokeFactInput, async (actor, input) => {
  await revokeFact(actor, input)
  return { message: 'The check-off no longer counts from today.' }
})
