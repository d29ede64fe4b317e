import { getTranslations } from 'next-intl/server'
import { ActionForm } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { Notice } from '@/app/ui/notice'
import { getQuizOrThrow } from '@/lib/assessment/queries'
import { requireActor } from '@/lib/auth/session'
import { dateInWords } from '@/lib/kernel/date-words'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { startQuizAction } from '../actions'

export default async function QuizPage({ params }: { params: Promise<{ key: string }> }) {
  const { key } = await params
  const actor = await requireActor(`/quiz/${key}`)
  const { locale } = await preferences()
  const [t, quiz] = await Promise.all([
    getTranslations('quiz'),
    orNotFound(getQuizOrThrow(actor, key, locale)),
  ])
  const { retry } = quiz
  return (
    <Page title={quiz.title} here="/path" narrow crumbs={<a href="/path">{t('back')}</a>}>
      <p className="lead">{t('lead')}</p>
      {quiz.passedOn && (
        <Notice kind="good">
          <p>{t('passedOn', { date: dateInWords(quiz.passedOn, locale) })}</p>
        </Notice>
      )}
      <section className="panel">
        <h2>{t('rulesTitle')}</h2>
        <ul>
          <li>{t('rules.count', { questions: quiz.questions })}</li>
          {quiz.hasScenario && <li>{t('rules.scenario')}</li>}
          <li>{t(quiz.ownLimit ? 'rules.limitOwn' : 'rules.limit', { minutes: quiz.limitMinutes })}</li>
          <li>{t('rules.change')}</li>
          <li>{t('rules.kept')}</li>
          <li>{t('rules.pass', { percent: Math.round(quiz.cutScoreFraction * 100) })}</li>
          <li>{t('rules.critical')}</li>
          <li>{t('rules.after')}</li>
        </ul>
        {quiz.unfinishedAttemptId || retry.status === 'now' ? (
          <ActionForm action={startQuizAction}>
            <input type="hidden" name="key" value={key} />
            <button type="submit" data-kind="main" className="wide">
              {t(quiz.unfinishedAttemptId ? 'goOn' : quiz.lastAttemptId ? 'again' : 'start')}
            </button>
          </ActionForm>
        ) : (
          <Notice kind="warn">
            <p>
              {retry.status === 'later'
                ? t('waitUntil', { date: dateInWords(retry.on, locale) })
                : t('noMoreTries')}
            </p>
          </Notice>
        )}
      </section>
      {quiz.lastAttemptId && (
        <p>
          <a href={`/quiz/result/${quiz.lastAttemptId}`}>{t('lastResult')}</a>
        </p>
      )}
    </Page>
  )
}
