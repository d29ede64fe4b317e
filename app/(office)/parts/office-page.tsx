import type { ReactNode } from 'react'
import { Page } from '@/app/ui/frame'

export interface Crumb {
  href: string
  name: string
}

/** A page of the office: in English, whatever language the frame is in. */
export const OfficePage = ({
  title,
  crumbs = [],
  children,
}: {
  title: string
  crumbs?: Crumb[]
  children: ReactNode
}) => (
  <Page
    title={<span lang="en">{title}</span>}
    here="/office"
    crumbs={
      crumbs.length > 0 ? (
        <span lang="en">
          {crumbs.map((crumb, i) => (
            <span key={crumb.href}>
              {i > 0 && ' › '}
              <a href={crumb.href}>{crumb.name}</a>
            </span>
          ))}
        </span>
      ) : undefined
    }
  >
    <div lang="en">{children}</div>
  </Page>
)
