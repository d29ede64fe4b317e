import { getTranslations } from 'next-intl/server'
import { Page } from '@/app/ui/frame'
import { requireActor } from '@/lib/auth/session'
import { getJobAidOrThrow } from '@/lib/scenarios/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { PrintButton } from './print-button'

export default async function JobAidPage({ params }: { params: Promise<{ key: string }> }) {
  const { key } = await params
  const actor = await requireActor(`/lessons/${key}/job-aid`)
  const { locale } = await preferences()
  const [t, aid] = await Promise.all([
    getTranslations('lesson'),
    orNotFound(getJobAidOrThrow(actor, key, locale)),
  ])
  return (
    <Page
      title={t('aid.title', { title: aid.title })}
      here="/path"
      narrow
      crumbs={
        <span className="no-print">
          <a href={`/lessons/${key}`}>{aid.title}</a>
        </span>
      }
    >
      <div className="job-aid">
        <p className="quiet">{t('aid.for', { name: aid.equipment })}</p>
        <ol>
          {aid.lines.map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ol>
        {aid.sources.length > 0 && (
          <p className="small">
            {t('aid.sources')}:{' '}
            {aid.sources
              .map((s) => (s.fromMemory ? `${s.cite} (${t('aid.fromMemory')})` : s.cite))
              .join('; ')}
          </p>
        )}
        <div className="notice" data-kind="warn">
          <p>{t('aid.caution')}</p>
        </div>
        <PrintButton label={t('aid.print')} how={t('aid.printHow')} />
      </div>
    </Page>
  )
}
