'use server'
import { z } from 'zod'
import { setPreferences } from '@/lib/auth/preferences'
import { LOCALES } from '@/lib/kernel/wording'
import { defineAction } from '@/lib/web/define-action'
import { messagesFor } from '@/lib/web/messages'
import { keepPreferences, TEXT_SIZES, THEMES } from '@/lib/web/preferences'

const PreferencesInput = z.object({
  locale: z.enum(LOCALES),
  theme: z.enum(THEMES),
  textSize: z.enum(TEXT_SIZES),
})

export const savePreferencesAction = defineAction(PreferencesInput, async (actor, choices) => {
  await setPreferences(actor, choices)
  await keepPreferences(choices)
  return { message: messagesFor(choices.locale).account?.saved as string }
})
