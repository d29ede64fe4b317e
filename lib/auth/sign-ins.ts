import { appendAudit, STATE_CHAIN } from '@/lib/audit/append'
import { db, type Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import type { Prisma } from '@/prisma/client/client'
import type { Access } from '@/prisma/client/enums'
import type { Actor } from './actor'
import { expiryOf, grantsOpenedBy, isAlive, type SignInMethod } from './core/lifetimes'
import { assertCan, assertCanOver } from './permissions'

/** What a sign-in needs to know of the request. `address` limits tries and isn't stored. */
export interface RequestMeta {
  address: string
  device: string
  sharedTablet: boolean
  at: Date
}

export interface GrantRow {
  access: Access
  countyId: string | null
}

/** The audit chain of an account: its first county, else the state office's. */
export const chainOf = (grants: readonly { countyId: string | null }[]): string =>
  grants.find((grant) => grant.countyId !== null)?.countyId ?? STATE_CHAIN

export interface StartedSignIn {
  signInId: string
  accountId: string
  expiresAt: Date
  sharedTablet: boolean
}

export const canStart = (method: SignInMethod, grants: readonly GrantRow[]): boolean =>
  grantsOpenedBy(method, grants).length > 0

/** Writes the sign-in and its audit record; the caller has checked who it is. Call it last in the transaction. */
export async function startSignIn(
  tx: Tx,
  account: { id: string; grants: readonly GrantRow[] },
  method: SignInMethod,
  meta: RequestMeta,
): Promise<StartedSignIn> {
  const staff = grantsOpenedBy(method, account.grants).some((grant) => grant.access !== 'pollWorker')
  const expiresAt = expiryOf({ staff, sharedTablet: meta.sharedTablet }, meta.at)
  const { id: signInId } = await tx.signIn.create({
    data: {
      accountId: account.id,
      method,
      device: meta.device.slice(0, 100),
      sharedTablet: meta.sharedTablet,
      startedAt: meta.at,
      lastSeenAt: meta.at,
      expiresAt,
    },
  })
  await appendAudit(
    tx,
    { chain: chainOf(account.grants), actorAccountId: account.id, at: meta.at },
    {
      event: 'sign-in.started',
      subject: `account:${account.id}`,
      detail: { signInId, method, sharedTablet: meta.sharedTablet },
    },
  )
  return { signInId, accountId: account.id, expiresAt, sharedTablet: meta.sharedTablet }
}

export type EndReason = 'signed-out' | 'replaced' | 'ended-by-staff' | 'account-disabled' | 'password-set'

/** Ends the sign-ins that match and are still open, each with its audit record. Returns how many. */
export async function endSignInsIn(
  tx: Tx,
  where: Prisma.SignInWhereInput,
  by: { chain: string; actorAccountId: string | null; at: Date },
  reason: EndReason,
): Promise<number> {
  const open = await tx.signIn.findMany({ where: { ...where, endedAt: null }, orderBy: { id: 'asc' } })
  let ended = 0
  for (const signIn of open) {
    const { count } = await tx.signIn.updateMany({
      where: { id: signIn.id, endedAt: null },
      data: { endedAt: by.at, endReason: reason },
    })
    if (count === 0) continue
    ended++
    await appendAudit(tx, by, {
      event: 'sign-in.ended',
      subject: `account:${signIn.accountId}`,
      detail: { signInId: signIn.id, reason },
    })
  }
  return ended
}

const ofAccount = { include: { account: { include: { grants: { where: { endedAt: null } } } } } } as const

/** Ends the sign-in of this browser, whoever's it is: the holder of the cookie says so. */
export async function endOwnSignIn(signInId: string, reason: 'signed-out' | 'replaced'): Promise<void> {
  await transaction(async (tx) => {
    const signIn = await tx.signIn.findUnique({ where: { id: signInId }, ...ofAccount })
    if (!signIn) return
    const by = {
      chain: chainOf(signIn.account.grants),
      actorAccountId: signIn.accountId,
      at: systemClock.now(),
    }
    await endSignInsIn(tx, { id: signInId }, by, reason)
  })
}

/** Ends one sign-in at once: one's own, or as staff anybody's whose account has access in the actor's county.
 *  @throws AppError NOT_FOUND, FORBIDDEN. */
export async function endSignIn(actor: Actor, signInId: string): Promise<void> {
  await transaction(async (tx) => {
    const signIn = await tx.signIn.findUnique({ where: { id: signInId }, ...ofAccount })
    const own = signIn?.accountId === actor.accountId
    const chain = own
      ? chainOf(signIn.account.grants)
      : assertCanOver(actor, 'endSignIns', signIn?.account.grants ?? [])
    await endSignInsIn(
      tx,
      { id: signInId },
      { chain, actorAccountId: actor.accountId, at: systemClock.now() },
      own ? 'signed-out' : 'ended-by-staff',
    )
  })
}

/** Ends all of one's own sign-ins but this one. Returns how many were open. */
export async function endMyOtherSignIns(actor: Actor): Promise<number> {
  return transaction(async (tx) => {
    const grants = await tx.grant.findMany({ where: { accountId: actor.accountId, endedAt: null } })
    const by = { chain: chainOf(grants), actorAccountId: actor.accountId, at: systemClock.now() }
    return endSignInsIn(tx, { accountId: actor.accountId, id: { not: actor.signInId } }, by, 'signed-out')
  })
}

/** Ends every sign-in of an account at once. Returns how many were open. @throws AppError NOT_FOUND, FORBIDDEN. */
export async function endAllSignIns(actor: Actor, accountId: string): Promise<number> {
  return transaction(async (tx) => {
    const grants = await tx.grant.findMany({ where: { accountId, endedAt: null } })
    const own = accountId === actor.accountId
    const chain = own ? chainOf(grants) : assertCanOver(actor, 'endSignIns', grants)
    return endSignInsIn(
      tx,
      { accountId },
      { chain, actorAccountId: actor.accountId, at: systemClock.now() },
      own ? 'signed-out' : 'ended-by-staff',
    )
  })
}

export interface SignInSummary {
  id: string
  accountId: string
  name: string
  method: string
  device: string
  sharedTablet: boolean
  startedAt: Date
  lastSeenAt: Date
  /** This is the sign-in that asks. */
  current: boolean
}

async function openSignIns(actor: Actor, where: Prisma.SignInWhereInput, take: number) {
  const at = systemClock.now()
  const rows = await db().signIn.findMany({
    where: { ...where, endedAt: null, expiresAt: { gt: at } },
    include: { account: { select: { name: true } } },
    orderBy: [{ startedAt: 'desc' }, { id: 'desc' }],
    take,
  })
  return rows
    .filter((row) => isAlive(row, at))
    .map(
      (row): SignInSummary => ({
        id: row.id,
        accountId: row.accountId,
        name: row.account.name,
        method: row.method,
        device: row.device,
        sharedTablet: row.sharedTablet,
        startedAt: row.startedAt,
        lastSeenAt: row.lastSeenAt,
        current: row.id === actor.signInId,
      }),
    )
}

/** One's own open sign-ins, newest first. */
export const listMySignIns = (actor: Actor): Promise<SignInSummary[]> =>
  openSignIns(actor, { accountId: actor.accountId }, 50)

/** The open sign-ins of accounts with access in a county, newest first; at most 200, narrowed by `name`.
 *  @throws AppError NOT_FOUND, FORBIDDEN. */
export async function listSignIns(
  actor: Actor,
  countyId: string | null,
  name = '',
): Promise<SignInSummary[]> {
  assertCan(actor, 'readSignIns', countyId)
  const account: Prisma.AccountWhereInput = { grants: { some: { countyId, endedAt: null } } }
  if (name) account.name = { contains: name, mode: 'insensitive' }
  return openSignIns(actor, { account }, 200)
}
