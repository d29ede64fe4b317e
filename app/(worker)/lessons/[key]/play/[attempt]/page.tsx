import { getTranslations } from 'next-intl/server'
import { Page } from '@/app/ui/page'
import { requireActor } from '@/lib/auth/session'
import { fillText } from '@/lib/scenarios/core/texts'
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
  const title = fillText(lesson.scenario.texts[locale].title ?? lesson.key, lesson.profile, locale)
  // The other language stays on the server: half the text of the page.
  const scenario = {
    ...lesson.scenario,
    texts: { en: {}, es: {}, [locale]: lesson.scenario.texts[locale] } as typeof lesson.scenario.texts,
  }
  const words = (
    ['saved', 'saving', 'offline', 'otherDevice', 'signInAgain', 'signIn', 'finishedSaved', 'toPath', 'again', 'jobAid'] as const
  ).map((name) => [name, t(name)] as const)
  return (
    <Page title={title} here="/path" narrow bare crumbs={<a href="/path">{t('back')}</a>}>
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
        scenario={scenario}
        profile={lesson.profile}
        locale={locale}
        storedEvents={lesson.events}
        finished={lesson.finished}
        sharedTablet={actor.sharedTablet}
        words={Object.fromEntries(words) as Record<(typeof words)[number][0], string>}
      />
    </Page>
  )
}
