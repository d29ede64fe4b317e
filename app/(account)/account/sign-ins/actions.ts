'use server'
import { redirect } from 'next/navigation'
import { getTranslations } from 'next-intl/server'
import { z } from 'zod'
import { setOwnPassword } from '@/lib/auth/accounts'
import { offerAuthenticator, setOwnAuthenticator } from '@/lib/auth/authenticator'
import { findAccountById } from '@/lib/auth/find-account'
import { endMyOtherSignIns, endSignIn } from '@/lib/auth/sign-ins'
import { AppError } from '@/lib/kernel/errors'
import { qrPicture } from '@/lib/papers/qr-picture'
import { defineAction } from '@/lib/web/define-action'

export const endMineAction = defineAction(z.object({ signInId: z.uuid() }), async (actor, { signInId }) => {
  await endSignIn(actor, signInId)
  if (signInId === actor.signInId) redirect('/sign-in')
  const t = await getTranslations('sign-in')
  return { message: t('mineEnded', { count: 1 }) }
})

export const endOthersAction = defineAction(z.object({}), async (actor) => {
  const count = await endMyOtherSignIns(actor)
  const t = await getTranslations('sign-in')
  return { message: t('mineEnded', { count }) }
})

export const ownPasswordAction = defineAction(
  z.object({ password: z.string().max(500), newPassword: z.string().max(500) }),
  async (actor, input) => {
    await setOwnPassword(actor, input)
    return { message: 'Your password is changed. Your other sign-ins have ended.' }
  },
)

/** One form, two rounds: first the offer (picture and key), then its first code with the password. */
export const ownAuthenticatorAction = defineAction(
  z.object({
    sealed: z.string().max(1000).optional(),
    code: z.string().max(20).optional(),
    password: z.string().max(500).optional(),
  }),
  async (actor, { sealed, code, password }) => {
    if (!sealed) {
      const offer = offerAuthenticator((await findAccountById(actor.accountId))!)
      return {
        value: { sealed: offer.sealed, key: offer.secret, picture: await qrPicture(offer.address) },
      }
    }
    const result = await setOwnAuthenticator(actor, { sealed, code: code ?? '', password: password ?? '' })
    if (result === 'wrong-password')
      throw new AppError('INVALID_INPUT', {
        userMessage: 'Your authenticator was not set up: the password is not right. Begin again below.',
      })
    if (result === 'wrong-code')
      throw new AppError('INVALID_INPUT', {
        userMessage:
          'Your authenticator was not set up: the code is not right, or it took too long. Begin again below.',
      })
    return { message: 'Your authenticator is set up. You need it at your next sign-in.' }
  },
)
