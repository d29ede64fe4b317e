import { getTranslations } from 'next-intl/server'
import { Tag } from '@/app/ui/notice'
import type { QuizSummary } from '@/lib/assessment/queries'
import type { LessonSummary } from '@/lib/scenarios/queries'

/** Every lesson and quiz, to practise as often as one likes. */
export async function Practice({ lessons, quizzes }: { lessons: LessonSummary[]; quizzes: QuizSummary[] }) {
  const t = await getTranslations('path')
  const groups = [...new Set(lessons.map((lesson) => lesson.group))]
  const stateOf = (l: LessonSummary) =>
    l.unfinished && l.timesFinished === 0 ? 'unfinished' : l.timesFinished > 0 ? 'finished' : 'new'
  return (
    <>
      <section aria-labelledby="practise">
        <h2 id="practise">{t('lessonsTitle')}</h2>
        <p>{t('lessonsWhy')}</p>
        {groups.map((group) => (
          <div key={group}>
            <h3>{t(`groups.${group}`)}</h3>
            <ul className="card-list">
              {lessons
                .filter((lesson) => lesson.group === group)
                .map((lesson) => (
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
          </div>
        ))}
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
