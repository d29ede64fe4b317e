'use server'
import { RotateKeyInput, rotateKey, WithdrawKeyInput, withdrawKey } from '@/lib/certification/commands-keys'
import { defineAction } from '@/lib/web/define-action'

export const rotateKeyAction = defineAction(RotateKeyInput, async (actor, input) => {
  const { credentials } = await rotateKey(actor, input)
  const ended =
    input.signed === 'expires'
      ? ` Files of the old key that count no more: ${credentials}; each is signed anew when it is next downloaded.`
      : ''
  return { message: `A new key signs from now on.${ended}` }
})

export const withdrawKeyAction = defineAction(WithdrawKeyInput, async (actor, input) => {
  const { credentials } = await withdrawKey(actor, input)
  // Not a message above the form: the form is gone once the key is withdrawn.
  return { goTo: `/admin/${input.countyId}/keys?withdrawn=${credentials}` }
})
