import type { ReactNode } from 'react'
import { Page } from '@/app/ui/frame'

/** A page of one county's training: in English, with the other pages of the same kind. */
export const TrainingPage = ({
  county,
  title,
  here,
  crumb,
  narrow,
  children,
}: {
  county: { id: string; name: string }
  title: string
  here?: 'check-offs' | 'classes' | 'oath' | 'quizzes'
  crumb?: { href: string; name: string }
  narrow?: boolean
  children: ReactNode
}) => {
  const base = `/training/${county.id}`
  const link = (key: typeof here, href: string, name: string) => (
    <li>
      <a href={href} aria-current={here === key && !crumb ? 'page' : undefined}>
        {name}
      </a>
    </li>
  )
  return (
    <Page
      title={<span lang="en">{title}</span>}
      here="/training"
      narrow={narrow}
      crumbs={
        <span lang="en">
          {county.name}
          {crumb && (
            <>
              {' › '}
              <a href={crumb.href}>{crumb.name}</a>
            </>
          )}
        </span>
      }
    >
      <div lang="en">
        <nav aria-label="Training" className="no-print">
          <ul className="training-nav">
            {link('check-offs', base, 'Check-offs')}
            {link('classes', `${base}/classes`, 'Classes')}
            {link('oath', `${base}/oath`, 'Oath')}
            {link('quizzes', `${base}/quizzes`, 'Quizzes')}
          </ul>
        </nav>
        {children}
      </div>
    </Page>
  )
}
