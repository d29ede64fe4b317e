'use server'
import { revalidatePath } from 'next/cache'
import { setPreferences } from '@/lib/auth/preferences'
import { currentActor } from '@/lib/auth/session'
import { keepPreferences, preferences } from '@/lib/web/preferences'

/** The button in the masthead: the other language, kept in this browser and, when signed in, with the account. */
export async function switchLanguageAction(): Promise<void> {
  const { locale } = await preferences()
  const other = locale === 'en' ? 'es' : 'en'
  await keepPreferences({ locale: other })
  const actor = await currentActor()
  if (actor) await setPreferences(actor, { locale: other })
  revalidatePath('/', 'layout')
}
