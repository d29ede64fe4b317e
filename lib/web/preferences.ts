import { cookies, headers } from 'next/headers'
import { isLocale, type Locale } from '@/lib/kernel/wording'

export const THEMES = ['system', 'light', 'dark', 'contrast'] as const
export const TEXT_SIZES = ['regular', 'large', 'largest'] as const

export interface Preferences {
  locale: Locale
  theme: (typeof THEMES)[number]
  textSize: (typeof TEXT_SIZES)[number]
}

const among = <T extends string>(options: readonly T[], value: string | undefined, otherwise: T): T =>
  options.find((option) => option === value) ?? otherwise

/** How this browser wants the pages: from its cookies (an account's choices are put there at sign-in), else from the
 *  language that the browser asks for. Large text is the default: most poll workers are over 60. */
export async function preferences(): Promise<Preferences> {
  const jar = await cookies()
  const chosen = jar.get('locale')?.value
  const asked = ((await headers()).get('accept-language') ?? '').slice(0, 2)
  return {
    locale: isLocale(chosen) ? chosen : asked === 'es' ? 'es' : 'en',
    theme: among(THEMES, jar.get('theme')?.value, 'system'),
    textSize: among(TEXT_SIZES, jar.get('text-size')?.value, 'large'),
  }
}

const COOKIE_NAMES = { locale: 'locale', theme: 'theme', textSize: 'text-size' } as const

/** Keeps choices in this browser for a year. Call from a server action or a route handler. */
export async function keepPreferences(choices: Partial<Preferences>): Promise<void> {
  const jar = await cookies()
  for (const [name, value] of Object.entries(choices))
    jar.set(COOKIE_NAMES[name as keyof Preferences], value, {
      path: '/',
      maxAge: 365 * 86_400,
      sameSite: 'lax',
      httpOnly: true,
    })
}
