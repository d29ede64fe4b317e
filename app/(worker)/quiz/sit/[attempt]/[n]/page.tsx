import { notFound, redirect } from 'next/navigation'
import { getTranslations } from 'next-intl/server'
import { ActionForm } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { closeIfDue } from '@/lib/assessment/commands'
import { getSittingOrThrow } from '@/lib/assessment/queries'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { preferences } from '@/lib/web/preferences'
import { saveAnswerAction } from '../../../actions'
import { SittingHead } from '../sitting'
import { AnswerFields } from './answer-fields'
import { StoryPlay } from './story-play'

export default async function QuestionPage({ params }: { params: Promise<{ attempt: string; n: string }> }) {
  const { attempt, n: word } = await params
  const actor = await requireActor(`/quiz/sit/${attempt}/${word}`)
  const { locale } = await preferences()
  if (await orNotFound(closeIfDue(actor, attempt))) redirect(`/quiz/result/${attempt}`)
  const n = /^\d{1,3}$/.test(word) ? Number(word) : 0
  const [t, sitting] = await Promise.all([
    getTranslations('quiz'),
    orNotFound(getSittingOrThrow(actor, attempt, locale, n)),
  ])
  const { question } = sitting
  if (!question) notFound()
  const of = sitting.items.length
  const buttons = (
    <div className="sit-foot">
      {/* The first button of a form is the one that Enter presses: 'go on'. */}
      <button type="submit" name="to" value="next" data-kind="main">
        {t(n === of ? 'saveAndReview' : 'next')}
      </button>
      {n > 1 && (
        <button type="submit" name="to" value="back">
          {t('previous')}
        </button>
      )}
      {n < of && (
        <button type="submit" name="to" value="review" data-kind="plain">
          {t('review')}
        </button>
      )}
    </div>
  )
  return (
    <Page
      title={t('question', { n, of })}
      here="/path"
      narrow
      bare
      crumbs={
        <>
          <a href="/path">{t('back')}</a> · {sitting.title}
        </>
      }
    >
      <SittingHead sitting={sitting} here={n} locale={locale} />
      {question.type === 'story' ? (
        <>
          {!question.story.view.finished && <p>{t('playHere')}</p>}
          <noscript>
            <div className="notice" data-kind="warn">
              <p>{t('storyNeedsScript')}</p>
            </div>
          </noscript>
          <StoryPlay
            attemptId={attempt}
            n={n}
            locale={locale}
            story={question.story}
            doneText={t('storyDone')}
          />
          <ActionForm action={saveAnswerAction}>
            <input type="hidden" name="attemptId" value={attempt} />
            <input type="hidden" name="n" value={n} />
            {buttons}
          </ActionForm>
        </>
      ) : (
        <ActionForm action={saveAnswerAction} key={n}>
          <input type="hidden" name="attemptId" value={attempt} />
          <input type="hidden" name="n" value={n} />
          <p className="question-text">{question.shown.stem}</p>
          <AnswerFields question={question} />
          {buttons}
        </ActionForm>
      )}
    </Page>
  )
}
