'use server'
import { z } from 'zod'
import { CheckOffInput, RevokeFactInput, recordCheckOff, revokeFact } from '@/lib/certification/commands'
import { defineAction } from '@/lib/web/define-action'

/** One button names task and result: `card-handling:done`. */
const MarkInput = CheckOffInput.omit({ task: true, result: true }).extend({
  mark: z
    .string()
    .regex(/^[a-z0-9-]{1,60}:(done|repeat)$/)
    .transform((text) => {
      const [task, result] = text.split(':') as [string, 'done' | 'repeat']
      return { task, result }
    }),
})

export const recordCheckOffAction = defineAction(MarkInput, async (actor, { mark, ...input }) => {
  const { recorded } = await recordCheckOff(actor, { ...input, ...mark })
  return {
    message: !recorded
      ? 'This check-off was already recorded.'
      : mark.result === 'done'
        ? 'The check-off is recorded.'
        : 'Recorded: to repeat.',
  }
})

export const revokeCheckOffAction = defineAction(RevokeFactInput, async (actor, input) => {
  await revokeFact(actor, input)
  return { message: 'The check-off no longer counts from today.' }
})
