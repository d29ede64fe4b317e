'use client'
import { useTranslations } from 'next-intl'

export default function ErrorPage({
  error,
  reset,
}: {
  error: Error & { digest?: string }
  reset: () => void
}) {
  const t = useTranslations('ui')
  return (
    <main id="main" className="page narrow">
      <h1>{t('errorTitle')}</h1>
      <p className="lead">{t('error', { number: error.digest ?? '—' })}</p>
      <div className="row">
        <button type="button" data-kind="main" onClick={reset}>
          {t('tryAgain')}
        </button>
        <a className="button" href="/">
          {t('home')}
        </a>
      </div>
    </main>
  )
}
