import { db } from '@/lib/db/client'
import { systemClock } from '@/lib/kernel/clock'
import type { RequestMeta } from './sign-ins'

/** E-mail addresses are compared in lower case; ours are stored so. */
export const normaliseEmail = (email: string): string => email.trim().toLowerCase()

const withGrants = { grants: { where: { endedAt: null }, orderBy: { id: 'asc' } } } as const

export const findAccountByEmail = (email: string) =>
  db().account.findUnique({ where: { email: normaliseEmail(email) }, include: withGrants })

export const findAccountById = (id: string) => db().account.findUnique({ where: { id }, include: withGrants })

export type AccountRow = NonNullable<Awaited<ReturnType<typeof findAccountById>>>

/** The request's own time, so that a sign-in and its audit record agree. */
export const metaAt = (meta: Omit<RequestMeta, 'at'> & { at?: Date }): RequestMeta => ({
  ...meta,
  at: meta.at ?? systemClock.now(),
})
