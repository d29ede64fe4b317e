import { cookies } from 'next/headers'
import { secureCookies, sessionCookieName } from '@/lib/auth/auth-options'
import { requestMeta } from '@/lib/auth/request-meta'
import { currentSignInId } from '@/lib/auth/session'
import { endOwnSignIn } from '@/lib/auth/sign-ins'

const goTo = (address: string, headers: Record<string, string> = {}) =>
  new Response(null, { status: 303, headers: { Location: address, 'Cache-Control': 'no-store', ...headers } })

const fromElsewhere = (request: Request): boolean => {
  const origin = request.headers.get('origin')
  if (origin === null) return false
  return !URL.canParse(origin) || new URL(origin).host !== request.headers.get('host')
}

/** Ends the sign-in, here and in the database. On a shared tablet nothing of the person stays: what pages kept in the
 *  browser goes, and so do the language, colours and text size of the person who was here. */
export async function POST(request: Request): Promise<Response> {
  if (fromElsewhere(request)) return goTo('/')
  const [signInId, { sharedTablet }, jar] = await Promise.all([currentSignInId(), requestMeta(), cookies()])
  if (signInId) await endOwnSignIn(signInId, 'signed-out')
  jar.set(sessionCookieName(), '', { path: '/', httpOnly: true, secure: secureCookies(), maxAge: 0 })
  if (sharedTablet) for (const name of ['locale', 'theme', 'text-size']) jar.delete(name)
  // On one's own device what a lesson keeps for sending later stays: it may not have been sent yet.
  return goTo('/sign-in', { 'Clear-Site-Data': sharedTablet ? '"cache", "storage"' : '"cache"' })
}

/** Following a link never signs anybody out. */
export const GET = (): Response => goTo('/')
