import type { Metadata } from 'next'
import { redirect } from 'next/navigation'
import { getTranslations } from 'next-intl/server'
import { ActionForm, Field } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { sameOffer } from '@/lib/auth/authenticator'
import { findAccountById } from '@/lib/auth/find-account'
import { currentStep } from '@/lib/auth/sign-in-step'
import { qrPicture } from '@/lib/papers/qr-picture'
import { authenticatorAction } from '../actions'
import '../sign-in.css'

export async function generateMetadata(): Promise<Metadata> {
  const t = await getTranslations('sign-in')
  return { title: t('authenticatorTitle') }
}

/** After the right password: the code from the authenticator, or its set-up where the county requires one. */
export default async function AuthenticatorPage() {
  const step = await currentStep()
  if (step?.kind !== 'authenticator') redirect('/sign-in/staff')
  const t = await getTranslations('sign-in')
  const code = (
    <Field
      name="code"
      label={t('authenticatorLabel')}
      hint={t('authenticatorHint')}
      className="sign-in-code"
      inputMode="numeric"
      autoComplete="one-time-code"
      maxLength={10}
      required
    />
  )
  const send = (
    <button type="submit" data-kind="main">
      {t('authenticatorButton')}
    </button>
  )
  const crumbs = <a href="/sign-in/staff">{t('back')}</a>
  if (!step.sealed)
    return (
      <Page title={t('authenticatorTitle')} narrow crumbs={crumbs}>
        <ActionForm action={authenticatorAction} className="panel">
          {code}
          {send}
        </ActionForm>
        <p className="quiet">{t('authenticatorLost')}</p>
      </Page>
    )
  const account = await findAccountById(step.accountId)
  const offer = account && sameOffer(account, step.sealed)
  if (!offer) redirect('/sign-in/staff')
  return (
    <Page title={t('setUpTitle')} narrow crumbs={crumbs}>
      <p className="lead">{t('setUpWhy')}</p>
      <ActionForm action={authenticatorAction} className="panel">
        <p>{t('setUpScan')}</p>
        {/* biome-ignore lint/performance/noImgElement: a data address, nothing to optimise */}
        <img className="sign-in-picture" src={await qrPicture(offer.address)} alt={t('setUpPicture')} />
        <p>
          {t('setUpKey')}: <code className="sign-in-key">{offer.secret.replace(/(.{4})(?=.)/g, '$1 ')}</code>
        </p>
        <p>{t('setUpCode')}</p>
        {code}
        {send}
      </ActionForm>
    </Page>
  )
}
