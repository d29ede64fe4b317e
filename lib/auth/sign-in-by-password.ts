import { transaction } from '@/lib/db/transaction'
import { inUniformTime, type SignInAnswer } from './answers'
import { acceptAuthenticator, authenticatorRequired, takeAuthenticatorCode } from './authenticator'
import { type AccountRow, findAccountByEmail, findAccountById, normaliseEmail } from './find-account'
import { giveBackTries, type Tries, takeTries } from './limits'
import { isPassword } from './passwords'
import { canStart, type RequestMeta, startSignIn } from './sign-ins'

const FLOOR_MS = 250

/** After the right password: whether the authenticator is still to be asked for, or to be set up first. */
export type PasswordAnswer =
  | SignInAnswer
  | { status: 'authenticator-needed'; accountId: string }
  | { status: 'authenticator-to-set-up'; accountId: string }

const usable = (account: AccountRow | null): account is AccountRow =>
  account !== null && account.disabledAt === null && canStart('password', account.grants)

/** Signs staff in by e-mail address and password. Nobody learns from the answer or its time who has an account. */
export async function signInByPassword(
  given: { email: string; password: string },
  meta: RequestMeta,
): Promise<PasswordAnswer> {
  const email = normaliseEmail(given.email)
  const tries: Tries = [
    ['password-from-here', `${email} ${meta.address}`],
    ['password-account', email],
    ['password-address', meta.address],
  ]
  const waitSeconds = await takeTries(tries)
  if (waitSeconds !== null) return { status: 'too-many-tries', waitSeconds }
  return inUniformTime(FLOOR_MS, async () => {
    const account = await findAccountByEmail(email)
    const right = await isPassword(account?.passwordHash ?? null, given.password)
    if (!right || !usable(account)) return { status: 'refused' }
    await giveBackTries(tries)
    if (account.totpConfirmedAt) return { status: 'authenticator-needed', accountId: account.id }
    if (await authenticatorRequired(account.grants))
      return { status: 'authenticator-to-set-up', accountId: account.id }
    const signIn = await transaction((tx) => startSignIn(tx, account, 'password', meta))
    return { status: 'signed-in', signIn }
  })
}

/** The second step: the code from the authenticator, or (`sealed`) the first code from a new one. The caller has kept
 *  in a signed cookie that the password was right. A set authenticator can't be replaced this way. */
export async function signInByAuthenticator(
  given: { accountId: string; code: string; sealed?: string },
  meta: RequestMeta,
): Promise<SignInAnswer> {
  const tries: Tries = [['authenticator-account', given.accountId]]
  const waitSeconds = await takeTries(tries)
  if (waitSeconds !== null) return { status: 'too-many-tries', waitSeconds }
  const account = await findAccountById(given.accountId)
  if (!usable(account)) return { status: 'refused' }
  const signIn = await transaction(async (tx) => {
    const right = account.totpConfirmedAt
      ? await takeAuthenticatorCode(tx, account, given.code, meta.at)
      : given.sealed !== undefined &&
        (await acceptAuthenticator(tx, account, { sealed: given.sealed, code: given.code }, meta.at))
    return right ? startSignIn(tx, account, 'password', meta) : null
  })
  if (!signIn) return { status: 'refused' }
  await giveBackTries(tries)
  return { status: 'signed-in', signIn }
}
