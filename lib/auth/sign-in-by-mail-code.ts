import { appendAudit } from '@/lib/audit/append'
import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { writeNotice } from '@/lib/notices/outbox'
import { inUniformTime, type SignInAnswer } from './answers'
import { hashOfCode, newMailCode } from './codes'
import { findAccountByEmail, normaliseEmail } from './find-account'
import { giveBackTries, type Tries, takeTries } from './limits'
import { canStart, chainOf, type RequestMeta, startSignIn } from './sign-ins'

export const MAIL_CODE_MINUTES = 15
const FLOOR_MS = 250

/** The election office that signs a message to an account: its county's name, else the product's. */
export async function officeOf(grants: readonly { countyId: string | null }[]): Promise<string> {
  const countyId = grants.find((grant) => grant.countyId !== null)?.countyId
  const county = countyId ? await db().county.findUnique({ where: { id: countyId } }) : null
  return county?.name ?? 'Poll worker readiness'
}

/** Sends a one-time code where the address belongs to an account that a code may open. The answer is the same, and
 *  takes the same time, where it doesn't. An earlier code of the account stops working.
 *  Returns null, or the seconds to wait. `locale` is the page's: the person is reading it now. */
export async function requestMailCode(
  given: { email: string; locale: string },
  meta: RequestMeta,
): Promise<number | null> {
  const email = normaliseEmail(given.email)
  const waitSeconds = await takeTries([
    ['mail-send-account', email],
    ['mail-send-address', meta.address],
  ])
  if (waitSeconds !== null) return waitSeconds
  await inUniformTime(FLOOR_MS, async () => {
    const account = await findAccountByEmail(email)
    if (!account || account.disabledAt || !canStart('mail-code', account.grants)) return
    const office = await officeOf(account.grants)
    const code = newMailCode()
    await transaction(async (tx) => {
      await tx.signInCode.updateMany({
        where: { accountId: account.id, kind: 'mail-code', usedAt: null, revokedAt: null },
        data: { revokedAt: meta.at },
      })
      await tx.signInCode.create({
        data: {
          accountId: account.id,
          kind: 'mail-code',
          codeHash: hashOfCode(code, account.id),
          createdAt: meta.at,
          expiresAt: new Date(meta.at.getTime() + MAIL_CODE_MINUTES * 60_000),
        },
      })
      await writeNotice(tx, {
        kind: 'sign-in-code',
        values: { code, minutes: MAIL_CODE_MINUTES, office },
        to: { address: email, locale: given.locale, accountId: account.id },
        countyId: account.grants.find((grant) => grant.countyId !== null)?.countyId ?? null,
        at: meta.at,
      })
      await appendAudit(
        tx,
        { chain: chainOf(account.grants), actorAccountId: null, at: meta.at },
        { event: 'sign-in.code-sent', subject: `account:${account.id}`, detail: { kind: 'mail-code' } },
      )
    })
  })
  return null
}

/** Signs in by the code from the e-mail. It is bound to its account, and works once: it is used up and the sign-in
 *  begun in one transaction. */
export async function signInByMailCode(
  given: { email: string; code: string },
  meta: RequestMeta,
): Promise<SignInAnswer> {
  const email = normaliseEmail(given.email)
  const tries: Tries = [
    ['mail-code-account', email],
    ['mail-code-address', meta.address],
  ]
  const waitSeconds = await takeTries(tries)
  if (waitSeconds !== null) return { status: 'too-many-tries', waitSeconds }
  return inUniformTime(FLOOR_MS, async () => {
    const account = await findAccountByEmail(email)
    if (!account || account.disabledAt || !canStart('mail-code', account.grants)) return { status: 'refused' }
    const signIn = await transaction(async (tx) => {
      const { count } = await tx.signInCode.updateMany({
        where: {
          accountId: account.id,
          kind: 'mail-code',
          codeHash: hashOfCode(given.code, account.id),
          usedAt: null,
          revokedAt: null,
          expiresAt: { gt: meta.at },
        },
        data: { usedAt: meta.at },
      })
      return count === 1 ? startSignIn(tx, account, 'mail-code', meta) : null
    })
    if (!signIn) return { status: 'refused' }
    await giveBackTries(tries)
    return { status: 'signed-in', signIn }
  })
}
