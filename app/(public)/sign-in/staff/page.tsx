import type { Metadata } from 'next'
import { redirect } from 'next/navigation'
import { getTranslations } from 'next-intl/server'
import { ActionForm, Field } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { safeNextPath } from '@/lib/auth/core/next-path'
import { currentActor } from '@/lib/auth/session'
import { passwordAction } from '../actions'

export async function generateMetadata(): Promise<Metadata> {
  const t = await getTranslations('sign-in')
  return { title: t('staffOpen') }
}

export default async function StaffSignInPage({
  searchParams,
}: {
  searchParams: Promise<{ next?: string | string[] }>
}) {
  const next = safeNextPath((await searchParams).next)
  const [t, actor] = await Promise.all([getTranslations('sign-in'), currentActor()])
  if (actor) redirect(next)
  return (
    <Page title={t('staffOpen')} narrow crumbs={<a href="/sign-in">{t('back')}</a>}>
      <ActionForm action={passwordAction} className="panel">
        <input type="hidden" name="next" value={next} />
        <Field
          name="email"
          type="email"
          label={t('mailLabel')}
          autoComplete="username"
          maxLength={200}
          required
        />
        <Field
          name="password"
          type="password"
          label={t('password')}
          autoComplete="current-password"
          maxLength={500}
          required
        />
        <button type="submit" data-kind="main">
          {t('passwordButton')}
        </button>
      </ActionForm>
    </Page>
  )
}
