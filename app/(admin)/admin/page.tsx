import { notFound, redirect } from 'next/navigation'
import { Page } from '@/app/ui/frame'
import { can } from '@/lib/auth/permissions'
import { listOffices } from '@/lib/auth/queries'
import { requireActor } from '@/lib/auth/session'
import { segmentOf } from '../parts/office'

export const metadata = { title: 'Administration' }

/** The offices that this account administers; whoever has one only is led straight into it. */
export default async function AdminHome() {
  const actor = await requireActor('/admin')
  const offices = await listOffices(actor)
  if (offices.length === 0) notFound()
  if (offices.length === 1) redirect(`/admin/${segmentOf(offices[0]!.countyId)}`)
  return (
    <Page title={<span lang="en">Administration</span>} here="/admin">
      <ul lang="en">
        {offices.map((office) => (
          <li key={segmentOf(office.countyId)}>
            <a href={`/admin/${segmentOf(office.countyId)}`}>{office.name}</a>
          </li>
        ))}
      </ul>
      {can(actor, 'changeCounty', null) && (
        <p lang="en">
          <a className="button" href="/admin/new-county">
            New county
          </a>
        </p>
      )}
    </Page>
  )
}
