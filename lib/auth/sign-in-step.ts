import 'server-only'
import { cookies } from 'next/headers'
import { systemClock } from '@/lib/kernel/clock'
import { secureCookies } from './auth-options'
import { readSignedText, signText } from './signed-text'

const COOKIE = 'sign-in-step'
const MINUTES = 15

/** What was answered so far, between two pages of signing in. Signed, so that nobody can claim a right password. */
export type SignInStep =
  | { kind: 'mail-code'; email: string; next: string }
  /** `sealed`: the authenticator offered for setting up, the same however often the page is loaded. */
  | { kind: 'authenticator'; accountId: string; sealed?: string; next: string }

export async function keepStep(step: SignInStep): Promise<void> {
  const until = new Date(systemClock.now().getTime() + MINUTES * 60_000)
  const jar = await cookies()
  jar.set(COOKIE, signText('sign-in-step', step, until), {
    httpOnly: true,
    sameSite: 'lax',
    path: '/sign-in',
    secure: secureCookies(),
    maxAge: MINUTES * 60,
  })
}

export const currentStep = async (): Promise<SignInStep | null> =>
  readSignedText<SignInStep>('sign-in-step', (await cookies()).get(COOKIE)?.value, systemClock.now())

export async function forgetStep(): Promise<void> {
  const jar = await cookies()
  jar.set(COOKIE, '', { path: '/sign-in', maxAge: 0 })
}
