import type { Metadata } from 'next'
import { redirect } from 'next/navigation'
import { getTranslations } from 'next-intl/server'
import { ActionForm, Field } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { Notice } from '@/app/ui/notice'
import { safeNextPath } from '@/lib/auth/core/next-path'
import { requestMeta } from '@/lib/auth/request-meta'
import { currentActor } from '@/lib/auth/session'
import { cardAction, mailAction } from './actions'
import './sign-in.css'

export async function generateMetadata(): Promise<Metadata> {
  const t = await getTranslations('sign-in')
  return { title: t('title') }
}

type Query = Promise<{ card?: string | string[]; next?: string | string[] }>

/** The ways in. The card comes first and largest: most poll workers have no e-mail at hand. */
export default async function SignInPage({ searchParams }: { searchParams: Query }) {
  const query = await searchParams
  const next = safeNextPath(query.next)
  const card = typeof query.card === 'string' ? query.card.slice(0, 20) : ''
  const [t, actor, { sharedTablet }] = await Promise.all([
    getTranslations('sign-in'),
    currentActor(),
    requestMeta(),
  ])
  // Another person's card in the address means that this person wants to sign in now.
  if (actor && !card) redirect(next)

  const cardForm = (
    <ActionForm action={cardAction}>
      <input type="hidden" name="next" value={next} />
      <Field
        name="code"
        label={t('cardLabel')}
        hint={t('cardHint')}
        defaultValue={card}
        className="sign-in-code"
        autoComplete="off"
        autoCapitalize="characters"
        spellCheck={false}
        inputMode="text"
        enterKeyHint="go"
        maxLength={30}
        required
      />
      <button type="submit" data-kind="main" className="wide">
        {t('cardButton')}
      </button>
    </ActionForm>
  )
  const staffAddress = `/sign-in/staff${next === '/' ? '' : `?next=${encodeURIComponent(next)}`}`

  if (sharedTablet)
    return (
      <Page title={t('tabletTitle')} narrow bare>
        <div className="panel">{cardForm}</div>
        <Notice>
          <p>{t('tabletNote')}</p>
        </Notice>
        <p className="small">
          <a href={staffAddress}>{t('tabletStaff')}</a>
        </p>
      </Page>
    )
  return (
    <Page title={t('title')} narrow>
      <section className="panel" aria-labelledby="by-card">
        <h2 id="by-card">{t('cardHeading')}</h2>
        {cardForm}
      </section>
      <section className="panel" aria-labelledby="by-mail">
        <h2 id="by-mail">{t('mailHeading')}</h2>
        <ActionForm action={mailAction}>
          <input type="hidden" name="next" value={next} />
          <Field
            name="email"
            type="email"
            label={t('mailLabel')}
            hint={t('mailHint')}
            autoComplete="email"
            maxLength={200}
            required
          />
          <button type="submit" className="wide">
            {t('mailButton')}
          </button>
        </ActionForm>
      </section>
      <section className="panel" aria-labelledby="by-password">
        <h2 id="by-password">{t('staffHeading')}</h2>
        <p>
          <a href={staffAddress}>{t('staffOpen')}</a>
        </p>
      </section>
    </Page>
  )
}
