import 'server-only'
import { redirect } from 'next/navigation'
import { getServerSession } from 'next-auth'
import { cache } from 'react'
import type { Actor } from './actor'
import { actorOf } from './actor-of'
import { sessionOptions } from './auth-options'

/** The id in this browser's cookie, whether or not the sign-in still counts. */
export async function currentSignInId(): Promise<string | null> {
  const session = await getServerSession({ ...sessionOptions(), providers: [] })
  return session?.signInId ?? null
}

/** Who asks, or null. Once a request, however many parts of a page ask. */
export const currentActor = cache(async (): Promise<Actor | null> => {
  const signInId = await currentSignInId()
  return signInId ? actorOf(signInId) : null
})

/** Who asks; whoever is not signed in is led to do so and then back to `next`. */
export async function requireActor(next = '/'): Promise<Actor> {
  const actor = await currentActor()
  if (!actor) redirect(next === '/' ? '/sign-in' : `/sign-in?next=${encodeURIComponent(next)}`)
  return actor
}
