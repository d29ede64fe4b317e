import { getTranslations } from 'next-intl/server'
import { Page } from '@/app/ui/frame'
import { requireActor } from '@/lib/auth/session'
import { textsFor } from '@/lib/scenarios/core/texts'
import { getLessonAttemptOrThrow } from '@/lib/scenarios/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { LessonPlay } from './lesson-play'

export default async function PlayPage({ params }: { params: Promise<{ key: string; attempt: string }> }) {
  const { key, attempt } = await params
  const actor = await requireActor(`/lessons/${key}/play/${attempt}`)
  const { locale } = await preferences()
  const [t, lesson] = await Promise.all([
    getTranslations('lesson'),
    orNotFound(getLessonAttemptOrThrow(actor, attempt)),
  ])
  const texts = textsFor(lesson.scenario, lesson.profile, locale)
  return (
    <Page title={texts.title ?? lesson.key} here="/path" narrow bare crumbs={<a href="/path">{t('back')}</a>}>
      <noscript>
        <div className="notice" data-kind="warn">
          <p>
            {t('needsScript')} <a href={`/lessons/${lesson.key}/job-aid`}>{t('jobAid')}</a>
          </p>
        </div>
      </noscript>
      <LessonPlay
        attemptId={lesson.attemptId}
        lessonKey={lesson.key}
        // The texts go along filled in, in one language: a third of the page.
        scenario={{ ...lesson.scenario, texts: { en: {}, es: {} } }}
        profile={lesson.profile}
        texts={texts}
        locale={locale}
        storedEvents={lesson.events}
      />
    </Page>
  )
}
