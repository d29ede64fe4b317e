import { randomBytes } from 'node:crypto'
import { z } from 'zod'
import { appendAudit, STATE_CHAIN } from '@/lib/audit/append'
import { transaction } from '@/lib/db/transaction'
import { env } from '@/lib/env'
import { systemClock } from '@/lib/kernel/clock'
import { AppError } from '@/lib/kernel/errors'
import { writeNotice } from '@/lib/notices/outbox'
import type { Actor } from './actor'
import { tooManyTries } from './answers'
import { CODE_ALPHABET } from './core/code-text'
import { passwordFault } from './core/password-rules'
import { findAccountById, normaliseEmail } from './find-account'
import { takeTries } from './limits'
import { hashPassword, isPassword } from './passwords'
import { assertCan, assertCanOverAll } from './permissions'
import { officeOf } from './sign-in-by-mail-code'
import { chainOf, endSignInsIn } from './sign-ins'

export const STAFF_ACCESS = ['administrator', 'countyStaff', 'trainer'] as const

export const NewAccountInput = z.object({
  email: z.email('Enter an e-mail address like name@example.org.').max(200),
  name: z.string().trim().min(1, 'Enter the name.').max(120),
  access: z.enum(STAFF_ACCESS, 'Choose what this person may do.'),
  /** Empty: every county, the state office. */
  countyId: z
    .string()
    .transform((id) => id || null)
    .nullable(),
})
export type NewAccount = z.output<typeof NewAccountInput>

/** A password that nobody chose: 20 signs of 5 bits. Its owner changes it. */
const newPassword = (): string =>
  [...randomBytes(20)]
    .map((byte) => CODE_ALPHABET[byte & 31])
    .join('')
    .replace(/(.{5})(?=.)/g, '$1-')

/** Makes an account for staff with one access, in a county or (null) in all. The first password is shown once to the
 *  administrator, who hands it over; the e-mail only says where to sign in.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT where the address has an account. */
export async function createAccount(
  actor: Actor,
  input: NewAccount,
): Promise<{ accountId: string; firstPassword: string }> {
  assertCan(actor, 'manageAccounts', input.countyId)
  const at = systemClock.now()
  const email = normaliseEmail(input.email)
  const firstPassword = newPassword()
  const passwordHash = await hashPassword(firstPassword)
  const office = await officeOf([input])
  return transaction(async (tx) => {
    if (await tx.account.findUnique({ where: { email }, select: { id: true } }))
      throw new AppError('CONFLICT', {
        userMessage: 'This e-mail address already has an account. Use another one.',
        fields: { email: 'Already has an account.' },
      })
    const account = await tx.account.create({
      data: {
        email,
        name: input.name,
        passwordHash,
        createdAt: at,
        grants: { create: { access: input.access, countyId: input.countyId, createdAt: at } },
      },
    })
    await writeNotice(tx, {
      kind: 'account-created',
      values: { name: input.name, address: `${env().PUBLIC_URL ?? ''}/sign-in`, office },
      to: { address: email, locale: 'en', accountId: account.id },
      countyId: input.countyId,
      at,
    })
    await appendAudit(
      tx,
      { chain: chainOf([input]), actorAccountId: actor.accountId, at },
      { event: 'account.created', subject: `account:${account.id}`, detail: { access: input.access } },
    )
    return { accountId: account.id, firstPassword }
  })
}

export const FirstAccountInput = z.object({
  state: z.string().trim().min(1).max(80),
  abbreviation: z.string().trim().min(1).max(10),
  timeZone: z.string().refine((zone) => Intl.supportedValuesOf('timeZone').includes(zone)),
  name: NewAccountInput.shape.name,
  email: NewAccountInput.shape.email,
})

/** Founds the state office of an empty installation, with its first administrator, who makes everybody else's account.
 *  From the command line alone: whoever may run it owns the database. @throws AppError CONFLICT where there is one. */
export async function foundStateOffice(
  input: z.output<typeof FirstAccountInput>,
): Promise<{ accountId: string; firstPassword: string }> {
  const at = systemClock.now()
  const firstPassword = newPassword()
  const passwordHash = await hashPassword(firstPassword)
  return transaction(async (tx) => {
    await tx.$executeRaw`SELECT pg_advisory_xact_lock(hashtextextended('state office', 0))`
    if (await tx.state.findFirst())
      throw new AppError('CONFLICT', {
        userMessage: 'This installation has a state office already. Its administrators make accounts.',
      })
    await tx.state.create({
      data: {
        id: 'state',
        name: input.state,
        abbreviation: input.abbreviation,
        timeZone: input.timeZone,
      },
    })
    const account = await tx.account.create({
      data: {
        email: normaliseEmail(input.email),
        name: input.name,
        passwordHash,
        createdAt: at,
        grants: { create: { access: 'administrator', countyId: null, createdAt: at } },
      },
    })
    await appendAudit(
      tx,
      { chain: STATE_CHAIN, actorAccountId: null, at },
      {
        event: 'account.created',
        subject: `account:${account.id}`,
        detail: { access: 'administrator' },
      },
    )
    return { accountId: account.id, firstPassword }
  })
}

const openGrants = (accountId: string) => ({ where: { accountId, endedAt: null } })

/** Disables an account: every sign-in of it ends at once, no code or card of it works.
 *  @throws AppError NOT_FOUND, FORBIDDEN, CONFLICT for one's own account. */
export async function disableAccount(actor: Actor, accountId: string): Promise<void> {
  const at = systemClock.now()
  await transaction(async (tx) => {
    const chain = assertCanOverAll(actor, 'manageAccounts', await tx.grant.findMany(openGrants(accountId)))
    if (accountId === actor.accountId)
      throw new AppError('CONFLICT', {
        userMessage: "You can't disable your own account. Ask another administrator.",
      })
    const { count } = await tx.account.updateMany({
      where: { id: accountId, disabledAt: null },
      data: { disabledAt: at },
    })
    if (count === 0) return
    const by = { chain, actorAccountId: actor.accountId, at }
    await endSignInsIn(tx, { accountId }, by, 'account-disabled')
    await appendAudit(tx, by, { event: 'account.disabled', subject: `account:${accountId}`, detail: {} })
  })
}

/** @throws AppError NOT_FOUND, FORBIDDEN. */
export async function enableAccount(actor: Actor, accountId: string): Promise<void> {
  await transaction(async (tx) => {
    const chain = assertCanOverAll(actor, 'manageAccounts', await tx.grant.findMany(openGrants(accountId)))
    const { count } = await tx.account.updateMany({
      where: { id: accountId, disabledAt: { not: null } },
      data: { disabledAt: null },
    })
    if (count === 0) return
    await appendAudit(
      tx,
      { chain, actorAccountId: actor.accountId, at: systemClock.now() },
      { event: 'account.enabled', subject: `account:${accountId}`, detail: {} },
    )
  })
}

/** Gives an account a new password that nobody chose, shown once; every sign-in of it ends.
 *  @throws AppError NOT_FOUND, FORBIDDEN. */
export async function setPassword(actor: Actor, accountId: string): Promise<{ password: string }> {
  const at = systemClock.now()
  const password = newPassword()
  const passwordHash = await hashPassword(password)
  await transaction(async (tx) => {
    const grants = await tx.grant.findMany(openGrants(accountId))
    const chain = assertCanOverAll(actor, 'manageAccounts', grants)
    if (grants.every((grant) => grant.access === 'pollWorker'))
      throw new AppError('CONFLICT', {
        userMessage: 'Poll workers sign in by card or by a code, without a password. Print a card instead.',
      })
    await tx.account.update({ where: { id: accountId }, data: { passwordHash } })
    const by = { chain, actorAccountId: actor.accountId, at }
    await endSignInsIn(tx, { accountId }, by, 'password-set')
    await appendAudit(tx, by, { event: 'account.password-set', subject: `account:${accountId}`, detail: {} })
  })
  return { password }
}

/** Changes one's own password, with the present one; one's other sign-ins end.
 *  @throws AppError INVALID_INPUT, TOO_MANY_TRIES. */
export async function setOwnPassword(
  actor: Actor,
  input: { password: string; newPassword: string },
): Promise<void> {
  const waitSeconds = await takeTries([['password-account', actor.accountId]])
  if (waitSeconds !== null) throw tooManyTries(waitSeconds)
  const account = (await findAccountById(actor.accountId))!
  const refuse = (field: string, sentence: string): never => {
    throw new AppError('INVALID_INPUT', {
      userMessage: `Your password was not changed. ${sentence}`,
      fields: { [field]: sentence },
    })
  }
  if (!(await isPassword(account.passwordHash, input.password)))
    refuse('password', 'The present password is not right.')
  const fault = passwordFault(input.newPassword, account)
  if (fault) refuse('newPassword', fault)
  const passwordHash = await hashPassword(input.newPassword)
  const by = { chain: chainOf(account.grants), actorAccountId: actor.accountId, at: systemClock.now() }
  await transaction(async (tx) => {
    await tx.account.update({ where: { id: account.id }, data: { passwordHash } })
    await endSignInsIn(tx, { accountId: account.id, id: { not: actor.signInId } }, by, 'password-set')
    await appendAudit(tx, by, { event: 'account.password-set', subject: `account:${account.id}`, detail: {} })
  })
}
