import { Secret } from 'otpauth'
import { appendAudit } from '@/lib/audit/append'
import { db, type Tx } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { systemClock } from '@/lib/kernel/clock'
import type { Actor } from './actor'
import { tooManyTries } from './answers'
import { authenticatorAddress, stepOfCode } from './core/totp'
import { type AccountRow, findAccountById } from './find-account'
import { takeTries } from './limits'
import { isPassword } from './passwords'
import { assertCanOverAll } from './permissions'
import { seal, unseal } from './secret'
import { chainOf, type GrantRow } from './sign-ins'
import { readSignedText, signText } from './signed-text'

const ISSUER = 'Poll worker readiness'
const SET_UP_MINUTES = 30

const asksForIt = (settings: unknown): boolean =>
  (settings as { staffAuthenticatorRequired?: unknown } | null)?.staffAuthenticatorRequired === true

/** Whether one of the account's offices requires an authenticator of its staff. An account of the state office
 *  reaches every county, so it needs one as soon as any of them, or the state, requires it. */
export async function authenticatorRequired(grants: readonly GrantRow[]): Promise<boolean> {
  const staff = grants.filter((grant) => grant.access !== 'pollWorker')
  if (staff.length === 0) return false
  const everywhere = staff.some((grant) => grant.countyId === null)
  const counties = await db().county.findMany({
    where: everywhere ? {} : { id: { in: staff.map((grant) => grant.countyId as string) } },
    select: { settings: true },
  })
  const states = everywhere ? await db().state.findMany({ select: { settings: true } }) : []
  return [...counties, ...states].some((office) => asksForIt(office.settings))
}

/** A code from the app works once: the step is taken in one statement, so of two requests with the same code one wins.
 *  @throws Error where the stored secret can't be opened (another installation's SECRET). */
export async function takeAuthenticatorCode(
  tx: Tx,
  account: { id: string; totpSecret: string | null },
  typed: string,
  at: Date,
): Promise<boolean> {
  if (!account.totpSecret) return false
  const step = stepOfCode(unseal(account.totpSecret, account.id), typed, at)
  if (step === null) return false
  const { count } = await tx.account.updateMany({
    where: { id: account.id, OR: [{ totpLastStep: null }, { totpLastStep: { lt: step } }] },
    data: { totpLastStep: step },
  })
  return count === 1
}

export interface AuthenticatorOffer {
  /** For typing into the app by hand. */
  secret: string
  /** For the QR code. */
  address: string
  /** Goes back with the first code. The secret is stored with the account only when that code is right, so that an
   *  unfinished set-up changes nothing. */
  sealed: string
}

export function offerAuthenticator(
  account: { id: string; email: string | null; name: string },
  at = systemClock.now(),
): AuthenticatorOffer {
  const secret = new Secret({ size: 20 }).base32 // 160 bits, as RFC 4226, 4 advises
  const until = new Date(at.getTime() + SET_UP_MINUTES * 60_000)
  return {
    secret,
    address: authenticatorAddress(secret, ISSUER, account.email ?? account.name),
    sealed: signText('authenticator-offer', seal(secret, account.id), until),
  }
}

/** The same offer again, after a mistyped code; null where it is over or not this account's. */
export function sameOffer(
  account: { id: string; email: string | null; name: string },
  sealed: string,
  at = systemClock.now(),
): AuthenticatorOffer | null {
  const inner = readSignedText<string>('authenticator-offer', sealed, at)
  if (inner === null) return null
  try {
    const secret = unseal(inner, account.id)
    return { secret, address: authenticatorAddress(secret, ISSUER, account.email ?? account.name), sealed }
  } catch {
    return null
  }
}

/** Stores the offered authenticator when the first code from it is right. */
export async function acceptAuthenticator(
  tx: Tx,
  account: AccountRow,
  offer: { sealed: string; code: string },
  at: Date,
): Promise<boolean> {
  const offered = sameOffer(account, offer.sealed, at)
  const step = offered && stepOfCode(offered.secret, offer.code, at)
  if (!offered || step === null) return false
  await tx.account.update({
    where: { id: account.id },
    data: { totpSecret: seal(offered.secret, account.id), totpConfirmedAt: at, totpLastStep: step },
  })
  await appendAudit(
    tx,
    { chain: chainOf(account.grants), actorAccountId: account.id, at },
    { event: 'account.authenticator-set', subject: `account:${account.id}`, detail: {} },
  )
  return true
}

/** One's own authenticator, from the settings page. Asks for the password again: a sign-in by card, or a screen left
 *  open, must not be able to lock its owner out. */
export async function setOwnAuthenticator(
  actor: Actor,
  offer: { sealed: string; code: string; password: string },
): Promise<'set' | 'wrong-password' | 'wrong-code'> {
  const tries = [['password-account', actor.accountId]] as const
  const waitSeconds = await takeTries(tries)
  if (waitSeconds !== null) throw tooManyTries(waitSeconds)
  const account = await findAccountById(actor.accountId)
  if (!(await isPassword(account!.passwordHash, offer.password))) return 'wrong-password'
  const set = await transaction((tx) => acceptAuthenticator(tx, account!, offer, systemClock.now()))
  return set ? 'set' : 'wrong-code'
}

/** For somebody who lost the phone: an administrator takes the authenticator away; the next sign-in leads to a new
 *  one where the county requires it. @throws AppError NOT_FOUND, FORBIDDEN. */
export async function removeAuthenticator(actor: Actor, accountId: string): Promise<void> {
  await transaction(async (tx) => {
    const grants = await tx.grant.findMany({ where: { accountId, endedAt: null } })
    const chain = assertCanOverAll(actor, 'manageAccounts', grants)
    await tx.account.update({
      where: { id: accountId },
      data: { totpSecret: null, totpConfirmedAt: null, totpLastStep: null },
    })
    await appendAudit(
      tx,
      { chain, actorAccountId: actor.accountId, at: systemClock.now() },
      { event: 'account.authenticator-removed', subject: `account:${accountId}`, detail: {} },
    )
  })
}
