import { getTranslations } from 'next-intl/server'
import { Tag } from '@/app/ui/notice'
import type { QuizSummary } from '@/lib/assessment/queries'
import type { LessonSummary } from '@/lib/scenarios/queries'

/** The lessons of the person's position first, with how far they have come; then every other lesson, and the quizzes:
 *  to practise as often as one likes. */
export async function Practice({
  lessons,
  own,
  position,
  quizzes,
}: {
  lessons: LessonSummary[]
  /** Keys of the position's lessons, in their order. */
  own: string[]
  position: string | null
  quizzes: QuizSummary[]
}) {
  const t = await getTranslations('path')
  const mine = own.flatMap((key) => lessons.find((lesson) => lesson.key === key) ?? [])
  const others = lessons.filter((lesson) => !own.includes(lesson.key))
  const finished = mine.filter((lesson) => lesson.timesFinished > 0).length
  const byGroup = (
    <>
      {[...new Set(others.map((lesson) => lesson.group))].map((group) => (
        <div key={group}>
          <h3>{t(`groups.${group}`)}</h3>
          <LessonList lessons={others.filter((lesson) => lesson.group === group)} />
        </div>
      ))}
    </>
  )
  return (
    <>
      <section aria-labelledby="practise">
        <h2 id="practise">
          {mine.length > 0 && position ? t('ownLessonsTitle', { position }) : t('lessonsTitle')}
        </h2>
        <p>{t('lessonsWhy')}</p>
        {mine.length > 0 && (
          <>
            <p>
              <strong>{t('ownLessonsCount', { done: finished, all: mine.length })}</strong>
              <span className="bar" aria-hidden="true">
                <span style={{ width: `${Math.round((100 * finished) / mine.length)}%` }} />
              </span>
            </p>
            <LessonList lessons={mine} />
          </>
        )}
        {mine.length > 0 && others.length > 0 ? (
          <details className="panel">
            <summary>{t('otherLessons', { count: others.length })}</summary>
            {byGroup}
          </details>
        ) : (
          byGroup
        )}
      </section>
      {quizzes.length > 0 && (
        <section aria-labelledby="quizzes">
          <h2 id="quizzes">{t('quizTitle')}</h2>
          <ul className="card-list">
            {quizzes.map((quiz) => (
              <li key={quiz.key}>
                <a className="card" href={`/quiz/${quiz.key}`}>
                  <strong>{quiz.title}</strong>
                  <span className="row">
                    <span className="small quiet">{t('minutes', { minutes: quiz.minutes })}</span>
                    <Tag kind={quiz.state === 'passed' ? 'good' : 'info'}>
                      {quiz.state === 'passed' && '✓ '}
                      {t(`quizState.${quiz.state}`)}
                    </Tag>
                  </span>
                </a>
              </li>
            ))}
          </ul>
        </section>
      )}
    </>
  )
}

async function LessonList({ lessons }: { lessons: LessonSummary[] }) {
  const t = await getTranslations('path')
  const stateOf = (lesson: LessonSummary) =>
    lesson.unfinished && lesson.timesFinished === 0
      ? 'unfinished'
      : lesson.timesFinished > 0
        ? 'finished'
        : 'new'
  return (
    <ul className="card-list">
      {lessons.map((lesson) => (
        <li key={lesson.key}>
          <a className="card" href={`/lessons/${lesson.key}`}>
            <strong>{lesson.title}</strong>
            <span>{lesson.summary}</span>
            <span className="row">
              <span className="small quiet">{t('minutes', { minutes: lesson.minutes })}</span>
              <Tag kind={stateOf(lesson) === 'finished' ? 'good' : 'info'}>
                {stateOf(lesson) === 'finished' && '✓ '}
                {t(`lessonState.${stateOf(lesson)}`)}
              </Tag>
            </span>
          </a>
        </li>
      ))}
    </ul>
  )
}
