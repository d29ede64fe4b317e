import 'server-only'
import type { NextAuthOptions } from 'next-auth'
import Credentials from 'next-auth/providers/credentials'
import { sessionOptions } from './auth-options'
import { requestMeta } from './request-meta'
import { signInByCard } from './sign-in-by-card'
import { signInByMailCode } from './sign-in-by-mail-code'
import { signInByAuthenticator, signInByPassword } from './sign-in-by-password'
import { endOwnSignIn } from './sign-ins'

/** next-auth's `id` of a user is, for us, the id of the sign-in: it is all that goes into the cookie. */
const userOf = (answer: { status: string; signIn?: { signInId: string } }) =>
  answer.status === 'signed-in' && answer.signIn ? { id: answer.signIn.signInId } : null

/** next-auth's own doors (/api/auth/callback/…), for clients that aren't our forms. They call the same functions, so
 *  the same limits, rules and audit records hold. */
export const nextAuthOptions = (): NextAuthOptions => ({
  ...sessionOptions(),
  providers: [
    Credentials({
      id: 'password',
      name: 'Password',
      credentials: { email: {}, password: { type: 'password' }, authenticatorCode: {} },
      authorize: async (given) => {
        const meta = await requestMeta()
        if (!given || meta.sharedTablet) return null
        const first = await signInByPassword(given, meta)
        if (first.status !== 'authenticator-needed') return userOf(first)
        return userOf(
          await signInByAuthenticator(
            { accountId: first.accountId, code: given.authenticatorCode ?? '' },
            meta,
          ),
        )
      },
    }),
    Credentials({
      id: 'mail-code',
      name: 'E-mail code',
      credentials: { email: {}, code: {} },
      authorize: async (given) => {
        const meta = await requestMeta()
        return given && !meta.sharedTablet ? userOf(await signInByMailCode(given, meta)) : null
      },
    }),
    Credentials({
      id: 'card',
      name: 'Card',
      credentials: { code: {} },
      authorize: async (given) => (given ? userOf(await signInByCard(given, await requestMeta())) : null),
    }),
  ],
  events: {
    signOut: async ({ token }) => {
      if (token?.signInId) await endOwnSignIn(token.signInId, 'signed-out')
    },
  },
})
