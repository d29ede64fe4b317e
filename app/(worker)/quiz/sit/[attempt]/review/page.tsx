import { redirect } from 'next/navigation'
import { getTranslations } from 'next-intl/server'
import { ActionForm } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { Notice, Tag } from '@/app/ui/notice'
import { closeIfDue } from '@/lib/assessment/commands'
import { getSittingOrThrow } from '@/lib/assessment/queries'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { handInAction } from '../../../actions'
import { SittingHead } from '../sitting'

export default async function ReviewPage({ params }: { params: Promise<{ attempt: string }> }) {
  const { attempt } = await params
  const actor = await requireActor(`/quiz/sit/${attempt}/review`)
  const { locale } = await preferences()
  if (await orNotFound(closeIfDue(actor, attempt))) redirect(`/quiz/result/${attempt}`)
  const [t, sitting] = await Promise.all([
    getTranslations('quiz'),
    orNotFound(getSittingOrThrow(actor, attempt, locale, null)),
  ])
  const open = sitting.items.filter((item) => !item.answered)
  return (
    <Page
      title={t('reviewTitle')}
      here="/path"
      narrow
      bare
      crumbs={
        <>
          <a href="/path">{t('back')}</a> · {sitting.title}
        </>
      }
    >
      <SittingHead sitting={sitting} here={null} locale={locale} />
      <Notice kind={open.length === 0 ? 'good' : 'warn'}>
        <p>{open.length === 0 ? t('allAnswered') : t('unanswered', { count: open.length })}</p>
      </Notice>
      <ul className="review-list">
        {sitting.items.map((item) => (
          <li key={item.n}>
            <a href={`/quiz/sit/${attempt}/${item.n}`}>
              {t('question', { n: item.n, of: sitting.items.length })}
            </a>{' '}
            {item.answered ? (
              <Tag kind="good">✓ {t('answered')}</Tag>
            ) : (
              <Tag kind="warn">○ {t('notAnswered')}</Tag>
            )}
          </li>
        ))}
      </ul>
      <ActionForm action={handInAction} className="panel">
        <input type="hidden" name="attemptId" value={attempt} />
        <p>{t('handInSure')}</p>
        <div className="sit-foot">
          <button type="submit" data-kind={open.length === 0 ? 'main' : undefined}>
            {t('handIn')}
          </button>
          <a
            className="button"
            data-kind={open.length === 0 ? undefined : 'main'}
            href={`/quiz/sit/${attempt}/${open[0]?.n ?? 1}`}
          >
            {t('keepGoing')}
          </a>
        </div>
      </ActionForm>
    </Page>
  )
}
