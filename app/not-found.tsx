import { getTranslations } from 'next-intl/server'
import { Page } from './ui/frame'

export default async function NotFound() {
  const t = await getTranslations('ui')
  return (
    <Page title={t('notFoundTitle')} narrow>
      <p className="lead">{t('notFound')}</p>
      <p>
        <a className="button" data-kind="main" href="/">
          {t('home')}
        </a>
      </p>
    </Page>
  )
}
