import { redirect } from 'next/navigation'
import { getTranslations } from 'next-intl/server'
import type { Actor } from '@/lib/auth/actor'
import { currentActor } from '@/lib/auth/session'
import { Page } from './ui/frame'
import { navigationOf } from './ui/navigation'

/** Staff of an office begin there, even if they may record check-offs too. */
function mainPageOf(actor: Actor): string {
  const links = navigationOf(actor)
  const office = actor.pollWorkerId ? undefined : links.find((link) => link.label === 'office')
  return (office ?? links[0])?.href ?? '/account'
}

const STEPS = ['lesson', 'quiz', 'checkOff', 'certificate'] as const

/** What this is, and the way in. Whoever is signed in goes on to their main page. */
export default async function WelcomePage() {
  const actor = await currentActor()
  if (actor) redirect(mainPageOf(actor))
  const t = await getTranslations('path')
  return (
    <Page title={t('welcome.title')} narrow>
      <p className="lead">{t('welcome.lead')}</p>
      <p>
        <a className="button wide" data-kind="main" href="/sign-in">
          {t('welcome.signIn')}
        </a>
      </p>
      <p>
        {t('welcome.signInWhy')} <span className="quiet">{t('welcome.staff')}</span>
      </p>
      <section className="panel" aria-labelledby="how">
        <h2 id="how">{t('welcome.how')}</h2>
        <ol className="welcome-steps">
          {STEPS.map((step) => (
            <li key={step}>
              <strong>{t(`welcome.steps.${step}`)}.</strong> {t(`welcome.steps.${step}Text`)}
            </li>
          ))}
        </ol>
      </section>
      <p>
        <a href="/verify">{t('welcome.verify')}</a>
      </p>
    </Page>
  )
}
