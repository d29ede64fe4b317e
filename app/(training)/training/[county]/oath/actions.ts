'use server'
import { RevokeFactInput, revokeFact } from '@/lib/certification/commands'
import { OathInput, recordOath } from '@/lib/classes/commands-oath'
import { defineAction } from '@/lib/web/define-action'

export const recordOathAction = defineAction(OathInput, async (actor, input) => {
  const { recorded, already } = await recordOath(actor, input)
  return {
    message: `Oaths recorded: ${recorded}.${already > 0 ? ` Already on record before: ${already}.` : ''}`,
  }
})

export const revokeOathAction = defineAction(RevokeFactInput, async (actor, input) => {
  await revokeFact(actor, input)
  return { message: 'The oath no longer counts from today.' }
})
