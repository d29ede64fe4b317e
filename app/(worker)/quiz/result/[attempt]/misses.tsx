import { getTranslations } from 'next-intl/server'
import { Notice, Tag } from '@/app/ui/notice'
import type { Miss } from '@/lib/assessment/queries-result'
import { AppealForm } from './appeal-form'

/** What was not right: the question, one's own answer, the better one, why, and where to practise it. */
export async function Misses({ misses, attemptId }: { misses: Miss[]; attemptId: string }) {
  const t = await getTranslations('quiz')
  return (
    <section aria-labelledby="misses">
      <h2 id="misses">{t('result.missesTitle')}</h2>
      {misses.length === 0 && (
        <Notice kind="good">
          <p>{t('result.noMisses')}</p>
        </Notice>
      )}
      {misses.map((miss) => (
        <article className="panel" key={miss.n}>
          <p className="row">
            <strong>{t('question', { n: miss.n, of: miss.of })}</strong>
            {miss.critical && <Tag kind="bad">! {t('result.criticalTag')}</Tag>}
            {miss.partly && <Tag kind="warn">{t('result.partly')}</Tag>}
          </p>
          <p className="question-text">{miss.text}</p>
          <p>
            <strong>{t('result.yours')}</strong>{' '}
            {miss.yours.length ? miss.yours.join('; ') : t('result.noAnswer')}
          </p>
          {miss.told && miss.better.length > 0 && (
            <p>
              <strong>{t('result.better')}</strong> {miss.better.join('; ')}
            </p>
          )}
          {miss.told && miss.why.map((why) => <p key={why}>{why}</p>)}
          {miss.told && miss.source && (
            <p className="small quiet">
              {t('result.source', {
                source: t.has(`sources.${miss.source}`) ? t(`sources.${miss.source}`) : miss.source,
              })}
            </p>
          )}
          {miss.lesson && (
            <p>
              <a href={`/lessons/${miss.lesson.key}`}>
                {t('result.practise', { lesson: miss.lesson.title })}
              </a>
            </p>
          )}
          {miss.appeal ? (
            <p className="quiet">{t(`appeal.${miss.appeal.decision}`, { why: miss.appeal.why ?? '' })}</p>
          ) : (
            miss.questionId && <AppealForm attemptId={attemptId} questionId={miss.questionId} />
          )}
        </article>
      ))}
    </section>
  )
}
