/** How long a sign-in lasts. Our own choice: staff within a working day; a poll worker's own phone for a month, since
 *  codes are hard to come by; a shared tablet until it has lain for half an hour. */
export const STAFF_HOURS = 12
export const POLL_WORKER_DAYS = 30
export const TABLET_IDLE_MINUTES = 30
export const TABLET_HOURS = 12

const HOUR_MS = 3_600_000

export type SignInMethod = 'password' | 'mail-code' | 'card'

export const expiryOf = (kind: { staff: boolean; sharedTablet: boolean }, startedAt: Date): Date => {
  const hours = kind.sharedTablet ? TABLET_HOURS : kind.staff ? STAFF_HOURS : POLL_WORKER_DAYS * 24
  return new Date(startedAt.getTime() + hours * HOUR_MS)
}

export interface SignInState {
  expiresAt: Date
  endedAt: Date | null
  lastSeenAt: Date
  sharedTablet: boolean
}

/** True while the sign-in may be used: half-open, so at `expiresAt` itself no longer. */
export const isAlive = (signIn: SignInState, at: Date): boolean =>
  signIn.endedAt === null &&
  at < signIn.expiresAt &&
  (!signIn.sharedTablet || at.getTime() - signIn.lastSeenAt.getTime() < TABLET_IDLE_MINUTES * 60_000)

/** A card lies in a pocket and a mailbox may be shared: what they open is the poll worker's own part, never the
 *  office's, even where one account has both. */
export const grantsOpenedBy = <G extends { access: string }>(method: string, grants: readonly G[]): G[] =>
  method === 'password' ? [...grants] : grants.filter((grant) => grant.access === 'pollWorker')
