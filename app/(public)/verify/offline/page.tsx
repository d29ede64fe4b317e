import { getTranslations } from 'next-intl/server'
import { Page } from '@/app/ui/frame'
import { listIssuers } from '@/lib/certification/queries-keys'
import '../verify.css'

export async function generateMetadata() {
  const t = await getTranslations('verify')
  return { title: t('offline.title') }
}

const STEPS = ['step1', 'step2', 'step3', 'step4', 'step5', 'step6', 'step7'] as const

/** For whoever builds a verifier of their own: standards, addresses, steps. */
export default async function OfflinePage() {
  const [t, issuers] = await Promise.all([getTranslations('verify'), listIssuers()])
  return (
    <Page title={t('offline.title')} narrow crumbs={<a href="/verify">{t('title')}</a>}>
      <p className="lead">{t('offline.lead')}</p>
      <section aria-labelledby="what">
        <h2 id="what">{t('offline.whatTitle')}</h2>
        <p>{t('offline.what')}</p>
      </section>
      <section aria-labelledby="keys">
        <h2 id="keys">{t('offline.keysTitle')}</h2>
        <p>{t('offline.keys')}</p>
        <ul className="addresses">
          {issuers.map((issuer) => (
            <li key={issuer.id}>
              {issuer.name}: <a href={issuer.keySet}>{issuer.keySet}</a>
            </li>
          ))}
        </ul>
        <p>{t('offline.keyDates')}</p>
      </section>
      <section aria-labelledby="steps">
        <h2 id="steps">{t('offline.stepsTitle')}</h2>
        <ol className="addresses">
          {STEPS.map((step) => (
            <li key={step}>{t(`offline.${step}`)}</li>
          ))}
        </ol>
        <p>{t('offline.often')}</p>
      </section>
      <p>
        <a href="/verify">{t('offline.back')}</a>
      </p>
    </Page>
  )
}
