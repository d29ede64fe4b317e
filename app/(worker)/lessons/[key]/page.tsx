import { getTranslations } from 'next-intl/server'
import { ActionForm } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { requireActor } from '@/lib/auth/session'
import { getLessonOrThrow } from '@/lib/scenarios/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { startLessonAction } from '../actions'

export default async function LessonPage({ params }: { params: Promise<{ key: string }> }) {
  const { key } = await params
  const actor = await requireActor(`/lessons/${key}`)
  const { locale } = await preferences()
  const [t, lesson] = await Promise.all([
    getTranslations('lesson'),
    orNotFound(getLessonOrThrow(actor, key, locale)),
  ])
  return (
    <Page title={lesson.title} here="/path" narrow crumbs={<a href="/path">{t('back')}</a>}>
      <p className="lead">{lesson.summary}</p>
      <noscript>
        <div className="notice" data-kind="warn">
          <p>
            {t('needsScript')} <a href={`/lessons/${key}/job-aid`}>{t('jobAid')}</a>
          </p>
        </div>
      </noscript>
      <ActionForm action={startLessonAction} className="panel">
        <input type="hidden" name="key" value={key} />
        <ul>
          <li>{t('minutes', { minutes: lesson.minutes })}</li>
          <li>{t('canStop')}</li>
          <li>{t('noHarm')}</li>
          <li>{t(lesson.ownEquipment ? 'equipment' : 'otherEquipment', { name: lesson.profileName })}</li>
        </ul>
        {lesson.timesFinished > 0 && <p>{t('finishedTimes', { times: lesson.timesFinished })}</p>}
        <button type="submit" data-kind="main" className="wide">
          {t(lesson.unfinished ? 'goOn' : lesson.timesFinished > 0 ? 'again' : 'start')}
        </button>
      </ActionForm>
      <p>
        <a href={`/lessons/${key}/job-aid`}>{t('jobAid')}</a>. {t('jobAidWhy')}
      </p>
    </Page>
  )
}
