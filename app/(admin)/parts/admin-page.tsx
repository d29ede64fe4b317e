import type { ReactNode } from 'react'
import { Page } from '@/app/ui/frame'
import type { Actor } from '@/lib/auth/actor'
import { can, type Permission } from '@/lib/auth/permissions'
import { segmentOf } from './office'

const PAGES: { name: string; path: string; permission: Permission }[] = [
  { name: 'Accounts', path: 'accounts', permission: 'manageAccounts' },
  { name: 'Sign-ins', path: 'sign-ins', permission: 'readSignIns' },
  { name: 'Signing keys', path: 'keys', permission: 'manageIssuerKeys' },
  { name: 'Outbox', path: 'outbox', permission: 'readOutbox' },
  { name: 'Lessons', path: 'lessons', permission: 'changeCounty' },
  { name: 'Jobs', path: 'jobs', permission: 'readJobs' },
  { name: 'Audit', path: 'audit', permission: 'readAudit' },
]

/** A page of one office's administration: in English, with the other pages that this account may open. */
export const AdminPage = ({
  actor,
  countyId,
  office,
  title,
  here,
  children,
}: {
  actor: Actor
  countyId: string | null
  office: string
  title: string
  here?: string
  children: ReactNode
}) => {
  const base = `/admin/${segmentOf(countyId)}`
  return (
    <Page
      title={<span lang="en">{title}</span>}
      here="/admin"
      crumbs={
        <span lang="en">
          <a href="/admin">Administration</a> › <a href={base}>{office}</a>
        </span>
      }
    >
      <div lang="en">
        <nav aria-label={office} className="no-print">
          <ul className="row admin-nav">
            {PAGES.filter(
              (page) => can(actor, page.permission, countyId) && (countyId !== null || page.path !== 'keys'),
            ).map((page) => (
              <li key={page.path}>
                <a href={`${base}/${page.path}`} aria-current={here === page.path ? 'page' : undefined}>
                  {page.name}
                </a>
              </li>
            ))}
            {countyId === null && can(actor, 'changeCounty', null) && (
              <li>
                <a href="/admin/new-county" aria-current={here === 'new-county' ? 'page' : undefined}>
                  New county
                </a>
              </li>
            )}
          </ul>
        </nav>
        {children}
      </div>
    </Page>
  )
}
