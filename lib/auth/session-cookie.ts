import 'server-only'
import { cookies } from 'next/headers'
import { encode } from 'next-auth/jwt'
import { isLocale } from '@/lib/kernel/wording'
import { keepPreferences, TEXT_SIZES, THEMES } from '@/lib/web/preferences'
import { secureCookies, sessionCookieName, sessionSecret } from './auth-options'
import { findAccountById } from './find-account'
import { currentSignInId } from './session'
import { endOwnSignIn, type StartedSignIn } from './sign-ins'

/** Signs this browser in, from a server action.
 *
 *  next-auth's own way is a script that fetches a token against forgery and posts it with the form; a form must work
 *  here before, and without, JavaScript. So the action checks the person itself and then writes the very cookie that
 *  next-auth would write: its name, its options, its encryption (`encode`), its secret. From there on next-auth reads,
 *  renews and clears it as its own. Server actions bring their own check against forgery (Origin against Host).
 *
 *  An earlier sign-in of this browser ends. The person's language, colours and text size come along. On a shared
 *  tablet the cookie goes with the browser window, and signing out takes those settings away again. */
export async function openSession(signIn: StartedSignIn): Promise<void> {
  const before = await currentSignInId()
  if (before && before !== signIn.signInId) await endOwnSignIn(before, 'replaced')
  const jar = await cookies()
  const maxAge = Math.max(1, Math.floor((signIn.expiresAt.getTime() - Date.now()) / 1000))
  const token = await encode({ token: { signInId: signIn.signInId }, secret: sessionSecret(), maxAge })
  jar.set(sessionCookieName(), token, {
    httpOnly: true,
    sameSite: 'lax',
    path: '/',
    secure: secureCookies(),
    ...(signIn.sharedTablet ? {} : { maxAge }),
  })
  const account = await findAccountById(signIn.accountId)
  if (!account) return
  const theme = THEMES.find((option) => option === account.theme)
  const textSize = TEXT_SIZES.find((option) => option === account.textSize)
  await keepPreferences({
    ...(isLocale(account.locale) ? { locale: account.locale } : {}),
    ...(theme ? { theme } : {}),
    ...(textSize ? { textSize } : {}),
  })
}
