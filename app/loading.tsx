import { getTranslations } from 'next-intl/server'

export default async function Loading() {
  const t = await getTranslations('ui')
  return (
    <main id="main" className="page narrow" aria-busy="true">
      <p role="status" className="lead">
        {t('loading')}
      </p>
    </main>
  )
}
