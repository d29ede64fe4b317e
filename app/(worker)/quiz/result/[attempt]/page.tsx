import { redirect } from 'next/navigation'
import { getTranslations } from 'next-intl/server'
import { Page } from '@/app/ui/frame'
import { Notice, Tag } from '@/app/ui/notice'
import { closeIfDue } from '@/lib/assessment/commands'
import { getQuizResultOrThrow } from '@/lib/assessment/queries-result'
import { requireActor } from '@/lib/auth/session'
import { dateInWords } from '@/lib/kernel/date-words'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { Mended } from './mended'
import { Misses } from './misses'

const percent = (fraction: number) => Math.floor(fraction * 100 + 1e-9)

export default async function ResultPage({ params }: { params: Promise<{ attempt: string }> }) {
  const { attempt } = await params
  const actor = await requireActor(`/quiz/result/${attempt}`)
  const { locale } = await preferences()
  await orNotFound(closeIfDue(actor, attempt))
  const [t, result] = await Promise.all([
    getTranslations('quiz'),
    orNotFound(getQuizResultOrThrow(actor, attempt, locale)),
  ])
  if (!result) redirect(`/quiz/sit/${attempt}/1`)
  const { retry } = result
  return (
    <Page title={t('result.title')} here="/path" narrow crumbs={<a href="/path">{t('back')}</a>}>
      <p className="quiet">{result.title}</p>
      {result.handedInLate && (
        <Notice kind="warn">
          <p>{t('timeUp')}</p>
        </Notice>
      )}
      <Notice kind={result.passed ? 'good' : 'info'}>
        <h2 style={{ marginTop: 0 }}>{t(result.passed ? 'result.passed' : 'result.notYet')}</h2>
        <p>{t(result.passed ? 'result.passedText' : 'result.notYetText')}</p>
        {result.scoreFraction !== null && (
          <p>
            {t('result.score', {
              score: percent(result.scoreFraction),
              cut: Math.round(result.cutScoreFraction * 100),
            })}
          </p>
        )}
        {result.critical && <p>{t('result.critical')}</p>}
        {result.belowFloor && <p>{t('result.floor')}</p>}
      </Notice>
      <Mended mended={result.mended} />
      <section className="panel" aria-labelledby="after">
        <h2 id="after">{t('result.nextTitle')}</h2>
        {!result.passed && (
          <p>
            {retry.status === 'now'
              ? t('result.retryNow')
              : retry.status === 'later'
                ? t('result.retryOn', { date: dateInWords(retry.on, locale) })
                : t('noMoreTries')}
          </p>
        )}
        <div className="row">
          <a className="button" data-kind="main" href="/path">
            {t('result.toPath')}
          </a>
          {!result.passed && retry.status === 'now' && (
            <a className="button" href={`/quiz/${result.key}`}>
              {t('result.toQuiz')}
            </a>
          )}
        </div>
      </section>
      <section className="panel" aria-labelledby="topics">
        <h2 id="topics">{t('result.byTopic')}</h2>
        <dl className="competency-bars">
          {result.byCompetency.map((row) => (
            <div key={row.competency}>
              <dt>{t(`competencies.${row.competency}`)}</dt>
              <dd>
                <span className="bar" aria-hidden="true">
                  <span style={{ width: `${Math.round(row.fraction * 100)}%` }} />
                </span>
                <span className="row small">
                  {t('result.bar', {
                    points: Math.round(row.points * 10) / 10,
                    of: Math.round(row.of * 10) / 10,
                  })}
                  {row.weak ? (
                    <Tag kind="warn">! {t('result.below')}</Tag>
                  ) : (
                    <Tag kind="good">✓ {t('result.strong')}</Tag>
                  )}
                </span>
              </dd>
            </div>
          ))}
        </dl>
      </section>
      <Misses misses={result.misses} attemptId={attempt} />
    </Page>
  )
}
