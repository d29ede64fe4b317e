import type { ReactNode } from 'react'
import { TrainingPage } from '../../../../parts/training-page'

/** A page of one quiz, with the others of the same quiz. */
export const QuizPage = ({
  county,
  quiz,
  here,
  title,
  openAppeals = 0,
  children,
}: {
  county: { id: string; name: string }
  quiz: { id: string; name: string }
  here?: 'figures' | 'design' | 'pass-mark' | 'paper' | 'appeals'
  title?: string
  openAppeals?: number
  children: ReactNode
}) => {
  const base = `/training/${county.id}/quizzes/${quiz.id}`
  const link = (key: typeof here, href: string, name: string) => (
    <li>
      <a href={href} aria-current={here === key && !title ? 'page' : undefined}>
        {name}
      </a>
    </li>
  )
  return (
    <TrainingPage
      title={title ?? quiz.name}
      here="quizzes"
      county={county}
      crumb={
        title ? { href: base, name: quiz.name } : { href: `/training/${county.id}/quizzes`, name: 'Quizzes' }
      }
    >
      <nav aria-label="This quiz" className="no-print">
        <ul className="training-nav">
          {link('figures', base, 'Figures')}
          {link('design', `${base}/design`, 'Design and questions')}
          {link('pass-mark', `${base}/pass-mark`, 'Pass mark')}
          {link('paper', `${base}/paper`, 'On paper')}
          {link('appeals', `${base}/appeals`, openAppeals > 0 ? `Appeals (${openAppeals} open)` : 'Appeals')}
        </ul>
      </nav>
      {children}
    </TrainingPage>
  )
}
