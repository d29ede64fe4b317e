/** Why a request was refused. One table (`httpStatusOf`) maps each to its HTTP status. */
export type RefusalCode =
  | 'INVALID_INPUT'
  | 'SIGN_IN_NEEDED'
  | 'FORBIDDEN'
  | 'NOT_FOUND'
  | 'CONFLICT'
  | 'TOO_MANY_TRIES'
  | 'UNAVAILABLE'

const STATUS: Record<RefusalCode, number> = {
  INVALID_INPUT: 422,
  SIGN_IN_NEEDED: 401,
  FORBIDDEN: 403,
  NOT_FOUND: 404,
  CONFLICT: 409,
  TOO_MANY_TRIES: 429,
  UNAVAILABLE: 503,
}

export interface RefusalDetail {
  /** One plain sentence for the person, saying how to put it right. Never a stack or an internal name. */
  userMessage: string
  /** The same in Spanish, for whatever a poll worker can meet. */
  userMessageEs?: string
  /** Field name → sentence, for forms. */
  fields?: Record<string, string>
  cause?: unknown
}

/** A refusal at the boundary: expected, worded for a person, safe to show. Out of scope is `NOT_FOUND`. */
export class AppError extends Error {
  readonly code: RefusalCode
  readonly userMessage: string
  readonly userMessageEs: string | undefined
  readonly fields: Record<string, string> | undefined

  constructor(code: RefusalCode, detail: RefusalDetail) {
    super(`${code}: ${detail.userMessage}`, detail.cause === undefined ? undefined : { cause: detail.cause })
    this.name = 'AppError'
    this.code = code
    this.userMessage = detail.userMessage
    this.userMessageEs = detail.userMessageEs
    this.fields = detail.fields
  }
}

export const httpStatusOf = (code: RefusalCode): number => STATUS[code]

/** States what must be true; a failure is a bug, logged with an event id and never shown in its own words. */
export function invariant(condition: unknown, statement: string): asserts condition {
  if (!condition) throw new Error(`Broken invariant: ${statement}`)
}

/** Closes a `switch` over a union: a new member that nobody handles fails to compile. */
export function unreachable(value: never): never {
  throw new Error(`Unhandled case: ${JSON.stringify(value)}`)
}
