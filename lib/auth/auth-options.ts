import type { NextAuthOptions } from 'next-auth'
import { env } from '@/lib/env'
import { POLL_WORKER_DAYS } from './core/lifetimes'
import { keyFor } from './secret'

declare module 'next-auth' {
  interface Session {
    signInId?: string
  }
}
declare module 'next-auth/jwt' {
  interface JWT {
    signInId?: string
  }
}

export const secureCookies = (): boolean => env().PUBLIC_URL?.startsWith('https://') ?? false

/** The name that next-auth gives its cookie, with and without https. */
export const sessionCookieName = (): string => `${secureCookies() ? '__Secure-' : ''}next-auth.session-token`

export const sessionSecret = (): string => keyFor('session-cookie').toString('hex')

/** What reading a session needs. The cookie holds nothing but the id of the sign-in: who that is, and whether it still
 *  counts, is read from the database each time. Its own age is the longest that any sign-in may have. */
export const sessionOptions = (): Omit<NextAuthOptions, 'providers'> => ({
  secret: sessionSecret(),
  useSecureCookies: secureCookies(),
  session: { strategy: 'jwt', maxAge: POLL_WORKER_DAYS * 86_400 },
  pages: { signIn: '/sign-in', error: '/sign-in', signOut: '/' },
  callbacks: {
    jwt: ({ token, user }) => ({ signInId: user ? user.id : token.signInId }),
    session: ({ session, token }) => ({ expires: session.expires, signInId: token.signInId }),
  },
})
