import type { Metadata } from 'next'
import { redirect } from 'next/navigation'
import { getTranslations } from 'next-intl/server'
import { ActionForm, Field } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { MAIL_CODE_MINUTES } from '@/lib/auth/sign-in-by-mail-code'
import { currentStep } from '@/lib/auth/sign-in-step'
import { mailCodeAction } from '../actions'
import '../sign-in.css'

export async function generateMetadata(): Promise<Metadata> {
  const t = await getTranslations('sign-in')
  return { title: t('codeTitle') }
}

/** The same page whether or not the address is known. */
export default async function MailCodePage() {
  const step = await currentStep()
  if (step?.kind !== 'mail-code') redirect('/sign-in')
  const t = await getTranslations('sign-in')
  return (
    <Page title={t('codeTitle')} narrow crumbs={<a href="/sign-in">{t('back')}</a>}>
      <p className="lead">{t('codeSent', { email: step.email })}</p>
      <ActionForm action={mailCodeAction} className="panel">
        <Field
          name="code"
          label={t('codeLabel')}
          hint={t('codeHint', { minutes: MAIL_CODE_MINUTES })}
          className="sign-in-code"
          inputMode="numeric"
          autoComplete="one-time-code"
          maxLength={20}
          required
        />
        <button type="submit" data-kind="main" className="wide">
          {t('codeButton')}
        </button>
      </ActionForm>
      <p>
        <a href="/sign-in">{t('codeAgain')}</a>
      </p>
      <p className="quiet">{t('codeNone')}</p>
    </Page>
  )
}
