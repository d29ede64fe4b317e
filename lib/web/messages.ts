import { readdirSync, readFileSync } from 'node:fs'
import path from 'node:path'
import { getRequestConfig } from 'next-intl/server'
import type { Locale } from '@/lib/kernel/wording'
import { preferences } from './preferences'

type Messages = Record<string, Record<string, unknown>>
const loaded = new Map<Locale, Messages>()

/** The interface texts of one language: content/messages/<locale>/<area>.json, the area being the first key. */
export function messagesFor(locale: Locale): Messages {
  const kept = loaded.get(locale)
  if (kept && process.env.NODE_ENV === 'production') return kept
  const folder = path.join(process.cwd(), 'content', 'messages', locale)
  const messages = Object.fromEntries(
    readdirSync(folder)
      .filter((file) => file.endsWith('.json'))
      .map((file) => [file.slice(0, -5), JSON.parse(readFileSync(path.join(folder, file), 'utf8'))]),
  )
  loaded.set(locale, messages)
  return messages
}

export default getRequestConfig(async () => {
  const { locale } = await preferences()
  return { locale, messages: messagesFor(locale), timeZone: 'UTC' }
})
