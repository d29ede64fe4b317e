import type { Metadata } from 'next'
import { getLocale, getTranslations } from 'next-intl/server'
import { ActionForm, Field } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { Tag } from '@/app/ui/notice'
import { PASSWORD_MIN } from '@/lib/auth/core/password-rules'
import { getOwnAccount } from '@/lib/auth/queries'
import { requireActor } from '@/lib/auth/session'
import { listMySignIns } from '@/lib/auth/sign-ins'
import { endMineAction, endOthersAction, ownAuthenticatorAction, ownPasswordAction } from './actions'
import { AuthenticatorOffer } from './authenticator-offer'

export async function generateMetadata(): Promise<Metadata> {
  const t = await getTranslations('sign-in')
  return { title: t('mineTitle') }
}

export default async function MySignInsPage() {
  const actor = await requireActor('/account/sign-ins')
  const [t, locale, signIns, account] = await Promise.all([
    getTranslations('sign-in'),
    getLocale(),
    listMySignIns(actor),
    getOwnAccount(actor),
  ])
  const words = new Intl.DateTimeFormat(locale === 'es' ? 'es-US' : 'en-US', {
    dateStyle: 'medium',
    timeStyle: 'short',
    timeZone: account.timeZone,
  })
  return (
    <Page title={t('mineTitle')} here="/account" narrow crumbs={<a href="/account">{t('mineBack')}</a>}>
      <p>{t('mineLead')}</p>
      {signIns.map((signIn) => (
        <ActionForm action={endMineAction} className="panel" key={signIn.id}>
          <p>
            <strong>{signIn.device}</strong>, {t('by', { method: signIn.method })}{' '}
            {signIn.sharedTablet && <Tag>{t('mineShared')}</Tag>}{' '}
            {signIn.current && <Tag kind="good">{t('mineHere')}</Tag>}
          </p>
          <p>
            {t('mineSince', { at: words.format(signIn.startedAt), seen: words.format(signIn.lastSeenAt) })}
          </p>
          <input type="hidden" name="signInId" value={signIn.id} />
          {!signIn.current && (
            <button type="submit" aria-label={t('mineEndLabel', { device: signIn.device })}>
              {t('mineEnd')}
            </button>
          )}
        </ActionForm>
      ))}
      {signIns.length > 1 && (
        <ActionForm action={endOthersAction}>
          <button type="submit">{t('mineEndOthers')}</button>
        </ActionForm>
      )}
      {account.hasPassword && (
        <div lang="en">
          <section aria-labelledby="password-heading">
            <h2 id="password-heading">Password</h2>
            <ActionForm action={ownPasswordAction} className="panel">
              <Field
                name="password"
                label="Present password"
                type="password"
                autoComplete="current-password"
                maxLength={500}
                required
              />
              <Field
                name="newPassword"
                label="New password"
                hint={`At least ${PASSWORD_MIN} characters. Four or five words in a row are easy to remember.`}
                type="password"
                autoComplete="new-password"
                maxLength={500}
                required
              />
              <button type="submit">Change my password</button>
            </ActionForm>
          </section>
          <section aria-labelledby="authenticator-heading">
            <h2 id="authenticator-heading">Authenticator</h2>
            <p>
              {account.hasAuthenticator
                ? 'An authenticator is set up: you need a code from it at each sign-in.'
                : 'None is set up. A code from an app on your phone protects your account even if somebody learns the password.'}
            </p>
            <ActionForm action={ownAuthenticatorAction} className="panel" id="authenticator">
              <AuthenticatorOffer replaces={account.hasAuthenticator} />
            </ActionForm>
          </section>
        </div>
      )}
    </Page>
  )
}
