'use server'
import { cookies } from 'next/headers'
import { z } from 'zod'
import { secureCookies, sessionCookieName } from '@/lib/auth/auth-options'
import { currentTablet } from '@/lib/auth/request-meta'
import { endOwnSignIn } from '@/lib/auth/sign-ins'
import { setTablet, TABLET_COOKIE } from '@/lib/auth/tablet'
import { defineAction } from '@/lib/web/define-action'

/** Turning it on also signs the member of staff out: the next one who takes the tablet is somebody else. */
export const tabletOnAction = defineAction(z.object({}), async (actor) => {
  const mark = await setTablet(actor, { on: true })
  const jar = await cookies()
  if (mark)
    jar.set(TABLET_COOKIE, mark.cookie, {
      httpOnly: true,
      sameSite: 'lax',
      path: '/',
      secure: secureCookies(),
      expires: mark.expiresAt,
    })
  await endOwnSignIn(actor.signInId, 'signed-out')
  jar.set(sessionCookieName(), '', { path: '/', httpOnly: true, secure: secureCookies(), maxAge: 0 })
  return { goTo: '/sign-in' }
})

export const tabletOffAction = defineAction(z.object({}), async (actor) => {
  const tablet = await currentTablet()
  if (tablet) await setTablet(actor, { on: false, tabletId: tablet.tabletId })
  const jar = await cookies()
  jar.delete(TABLET_COOKIE)
  return { message: 'This is an ordinary device again.' }
})
