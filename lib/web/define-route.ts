import { randomUUID } from 'node:crypto'
import { z } from 'zod'
import type { Actor } from '@/lib/auth/actor'
import { currentActor } from '@/lib/auth/session'
import { AppError, httpStatusOf } from '@/lib/kernel/errors'
import { log } from './log'

type Context<P> = { params: Promise<P> }

const refusal = (status: number, code: string, message: string) =>
  Response.json({ code, message }, { status, headers: { 'Cache-Control': 'no-store' } })

/** A route handler for somebody who is signed in: loads the actor, maps errors to status and one plain sentence. */
export function defineRoute<P>(
  work: (actor: Actor, params: P, request: Request) => Promise<Response>,
): (request: Request, context: Context<P>) => Promise<Response> {
  return async (request, context) => {
    try {
      // Cookies are sent along by other sites' forms too; only our own pages may change anything.
      const from = request.headers.get('origin')
      if (request.method !== 'GET' && from && new URL(from).host !== request.headers.get('host'))
        return refusal(403, 'FORBIDDEN', 'This request came from another site.')
      const actor = await currentActor()
      if (!actor) return refusal(401, 'SIGN_IN_NEEDED', 'Please sign in again.')
      return await work(actor, await context.params, request)
    } catch (error) {
      if (error instanceof AppError) return refusal(httpStatusOf(error.code), error.code, error.userMessage)
      if (error instanceof z.ZodError)
        return refusal(
          422,
          'INVALID_INPUT',
          error.issues.map((i) => `${i.path.join('.')}: ${i.message}`).join('; '),
        )
      const eventId = randomUUID().slice(0, 8)
      log.error({ eventId, err: error }, 'a route failed')
      return refusal(500, 'FAILED', `Something went wrong on our side. Number: ${eventId}`)
    }
  }
}
