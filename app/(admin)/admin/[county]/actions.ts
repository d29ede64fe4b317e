'use server'
import { z } from 'zod'
import { verifyCountyChain } from '@/lib/audit/queries'
import {
  createAccount,
  disableAccount,
  enableAccount,
  NewAccountInput,
  setPassword,
} from '@/lib/auth/accounts'
import { removeAuthenticator } from '@/lib/auth/authenticator'
import { revokeCards } from '@/lib/auth/cards'
import { setStaffAuthenticatorRequired } from '@/lib/auth/office-settings'
import { endAllSignIns, endSignIn } from '@/lib/auth/sign-ins'
import { defineAction } from '@/lib/web/define-action'
import { countyIdOf } from '../../parts/office'

const County = z.string().min(1).max(100).transform(countyIdOf)
const AccountInput = z.object({ accountId: z.uuid() })

export const authenticatorRuleAction = defineAction(
  z.object({ county: County, required: z.enum(['yes', 'no']) }),
  async (actor, { county, required }) => {
    await setStaffAuthenticatorRequired(actor, county, required === 'yes')
    return { message: 'Saved. It counts from the next sign-in of each person.' }
  },
)

export const createAccountAction = defineAction(
  NewAccountInput.omit({ countyId: true }).extend({ county: County }),
  async (actor, { county, ...input }) => {
    const { firstPassword } = await createAccount(actor, { ...input, countyId: county })
    return {
      message: `The account for ${input.name} is made. Hand the first password over yourself: it is shown this once.`,
      value: { shownOnce: firstPassword },
    }
  },
)

export const newPasswordAction = defineAction(AccountInput, async (actor, { accountId }) => {
  const { password } = await setPassword(actor, accountId)
  return {
    message: 'The account has a new password, shown this once. All its sign-ins have ended.',
    value: { shownOnce: password },
  }
})

/** Each does one thing to an account and says so. */
const onAccount = (work: typeof disableAccount, message: string) =>
  defineAction(AccountInput, async (actor, { accountId }) => {
    await work(actor, accountId)
    return { message }
  })

export const disableAccountAction = onAccount(
  disableAccount,
  'The account is disabled. All its sign-ins have ended.',
)
export const enableAccountAction = onAccount(enableAccount, 'The account can be used again.')
export const removeAuthenticatorAction = onAccount(
  removeAuthenticator,
  'The authenticator is taken away. The password alone opens the account until a new one is set up.',
)
export const revokeCardsAction = defineAction(AccountInput, async (actor, { accountId }) => {
  const cards = await revokeCards(actor, accountId)
  return { message: `Cards that stopped working: ${cards}. What was signed in with a card has ended.` }
})
export const endAllSignInsAction = defineAction(AccountInput, async (actor, { accountId }) => {
  const ended = await endAllSignIns(actor, accountId)
  return { message: `Sign-ins that ended: ${ended}.` }
})

export const endSignInAction = defineAction(z.object({ signInId: z.uuid() }), async (actor, { signInId }) => {
  await endSignIn(actor, signInId)
  return { message: 'The sign-in has ended.' }
})

export const verifyChainAction = defineAction(z.object({ county: County }), async (actor, { county }) => {
  const verdict = await verifyCountyChain(actor, county)
  return {
    message:
      verdict.status === 'whole'
        ? `The chain is whole: ${verdict.links} links, each follows the one before it.`
        : `The chain is BROKEN at link ${verdict.sequence}: ${verdict.why}. Keep the database as it is and call whoever looks after it.`,
  }
})
