import { setTimeout as pause } from 'node:timers/promises'
import { AppError } from '@/lib/kernel/errors'
import type { StartedSignIn } from './sign-ins'

export type SignInAnswer =
  | { status: 'signed-in'; signIn: StartedSignIn }
  /** The same for a wrong password or code, no such account, a disabled one, one that may not sign in this way. */
  | { status: 'refused' }
  | { status: 'too-many-tries'; waitSeconds: number }

/** Holds every answer until a fixed time after the question, so that the shorter way (no such account) takes as long
 *  as the longer (a code is written and put in the queue). Within a few milliseconds, not exactly. */
export async function inUniformTime<T>(floorMs: number, work: () => Promise<T>): Promise<T> {
  const until = performance.now() + floorMs
  try {
    return await work()
  } finally {
    const rest = until - performance.now()
    if (rest > 0) await pause(rest)
  }
}

const minutes = (seconds: number) => Math.max(1, Math.ceil(seconds / 60))

export const tooManyTries = (waitSeconds: number): AppError =>
  new AppError('TOO_MANY_TRIES', {
    userMessage: `There were too many tries. Please wait ${minutes(waitSeconds)} minutes, or ask the election office for help.`,
    userMessageEs: `Hubo demasiados intentos. Espere ${minutes(waitSeconds)} minutos o pida ayuda a la oficina electoral.`,
  })
