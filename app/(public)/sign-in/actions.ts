'use server'
import { getTranslations } from 'next-intl/server'
import { z } from 'zod'
import type { SignInAnswer } from '@/lib/auth/answers'
import { offerAuthenticator } from '@/lib/auth/authenticator'
import { safeNextPath } from '@/lib/auth/core/next-path'
import { findAccountById } from '@/lib/auth/find-account'
import { requestMeta } from '@/lib/auth/request-meta'
import { openSession } from '@/lib/auth/session-cookie'
import { signInByCard } from '@/lib/auth/sign-in-by-card'
import { requestMailCode, signInByMailCode } from '@/lib/auth/sign-in-by-mail-code'
import { signInByAuthenticator, signInByPassword } from '@/lib/auth/sign-in-by-password'
import { currentStep, forgetStep, keepStep } from '@/lib/auth/sign-in-step'
import { AppError } from '@/lib/kernel/errors'
import { defineOpenAction } from '@/lib/web/define-action'

const Text = z.string().max(500).catch('')

type Sentence = Parameters<Awaited<ReturnType<typeof getTranslations<'sign-in'>>>>[0]

/** A refusal in the language of the page. */
async function refuse(sentence: Sentence, field?: string): Promise<never> {
  const t = await getTranslations('sign-in')
  const words = t(sentence)
  throw new AppError('INVALID_INPUT', {
    userMessage: words,
    userMessageEs: words,
    ...(field ? { fields: { [field]: words } } : {}),
  })
}

async function refuseForNow(waitSeconds: number): Promise<never> {
  const t = await getTranslations('sign-in')
  const words = t('wait', { minutes: Math.max(1, Math.ceil(waitSeconds / 60)) })
  throw new AppError('TOO_MANY_TRIES', { userMessage: words, userMessageEs: words })
}

/** The end of every way in: the cookie, and on to where the person wanted to go. */
async function goOn(answer: SignInAnswer, wrong: Sentence, next: string): Promise<{ goTo: string }> {
  if (answer.status === 'too-many-tries') return refuseForNow(answer.waitSeconds)
  if (answer.status === 'refused') return refuse(wrong)
  await openSession(answer.signIn)
  await forgetStep()
  return { goTo: safeNextPath(next) }
}

export const cardAction = defineOpenAction(z.object({ code: Text, next: Text }), async ({ code, next }) => {
  if (!code.trim()) return refuse('cardEmpty', 'code')
  return goOn(await signInByCard({ code }, await requestMeta()), 'cardWrong', next)
})

export const mailAction = defineOpenAction(
  z.object({ email: Text, next: Text }),
  async ({ email, next }, locale) => {
    if (!z.email().safeParse(email.trim()).success) return refuse('mailEmpty', 'email')
    const meta = await requestMeta()
    if (meta.sharedTablet) return refuse('tabletCardOnly')
    const waitSeconds = await requestMailCode({ email, locale }, meta)
    if (waitSeconds !== null) return refuseForNow(waitSeconds)
    await keepStep({ kind: 'mail-code', email: email.trim(), next: safeNextPath(next) })
    return { goTo: '/sign-in/code' }
  },
)

export const mailCodeAction = defineOpenAction(z.object({ code: Text }), async ({ code }) => {
  const [step, meta] = await Promise.all([currentStep(), requestMeta()])
  if (step?.kind !== 'mail-code') return { goTo: '/sign-in' }
  if (meta.sharedTablet) return refuse('tabletCardOnly')
  return goOn(await signInByMailCode({ email: step.email, code }, meta), 'codeWrong', step.next)
})

async function newOffer(accountId: string): Promise<string | undefined> {
  const account = await findAccountById(accountId)
  return account ? offerAuthenticator(account).sealed : undefined
}

export const passwordAction = defineOpenAction(
  z.object({ email: Text, password: Text, next: Text }),
  async ({ email, password, next }) => {
    const answer = await signInByPassword({ email, password }, await requestMeta())
    if (answer.status === 'authenticator-needed' || answer.status === 'authenticator-to-set-up') {
      const { accountId, status } = answer
      const sealed = status === 'authenticator-to-set-up' ? await newOffer(accountId) : undefined
      await keepStep({ kind: 'authenticator', accountId, sealed, next: safeNextPath(next) })
      return { goTo: '/sign-in/authenticator' }
    }
    return goOn(answer, 'passwordWrong', next)
  },
)

export const authenticatorAction = defineOpenAction(z.object({ code: Text }), async ({ code }) => {
  const step = await currentStep()
  if (step?.kind !== 'authenticator') return { goTo: '/sign-in/staff' }
  const given = { accountId: step.accountId, code, sealed: step.sealed }
  return goOn(await signInByAuthenticator(given, await requestMeta()), 'authenticatorWrong', step.next)
})
