import { ActionForm } from '@/app/ui/action-form'
import { Empty, TableBox } from '@/app/ui/notice'
import { AUDIT_PAGE, listAudit } from '@/lib/audit/queries'
import { getOffice } from '@/lib/auth/queries'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { AdminPage } from '../../../parts/admin-page'
import { Instant } from '../../../parts/instant'
import { countyIdOf } from '../../../parts/office'
import { verifyChainAction } from '../actions'

export const metadata = { title: 'Audit' }

const KINDS = [
  ['', 'everything'],
  ['account.', 'accounts'],
  ['sign-in.', 'sign-ins'],
  ['county.', 'county settings'],
  ['attempt.', 'lessons and quizzes'],
  ['fact.', 'check-offs and other facts'],
  ['roster.', 'rosters'],
] as const

type Query = Promise<Partial<Record<'event' | 'subject' | 'before', string | string[]>>>
const one = (value: string | string[] | undefined): string | undefined =>
  typeof value === 'string' && value ? value.slice(0, 200) : undefined

export default async function AuditPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Query
}) {
  const [{ county }, query] = await Promise.all([params, searchParams])
  const countyId = countyIdOf(county)
  const actor = await requireActor(`/admin/${county}/audit`)
  const [event, subject, before] = [one(query.event), one(query.subject), one(query.before)]
  const sequence = before && /^\d{1,9}$/.test(before) ? Number(before) : undefined
  const [office, records] = await Promise.all([
    orNotFound(getOffice(actor, countyId)),
    orNotFound(listAudit(actor, countyId, { event, subject, before: sequence })),
  ])
  const older = new URLSearchParams({
    ...(event ? { event } : {}),
    ...(subject ? { subject } : {}),
    before: String(records.at(-1)?.sequence ?? 0),
  })
  return (
    <AdminPage actor={actor} countyId={countyId} office={office.name} title="Audit" here="audit">
      <ActionForm action={verifyChainAction} className="panel">
        <p>
          Each change is a link that holds the hash of the link before it. Whoever alters one breaks all that
          follow.
        </p>
        <input type="hidden" name="county" value={county} />
        <button type="submit">Verify the chain now</button>
      </ActionForm>
      <form method="get" className="row at-end">
        <div className="field">
          <label htmlFor="event">Show</label>
          <select id="event" name="event" defaultValue={event ?? ''}>
            {KINDS.map(([value, name]) => (
              <option key={value} value={value}>
                {name}
              </option>
            ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="subject">About exactly (for example account:…)</label>
          <input id="subject" name="subject" defaultValue={subject} maxLength={200} />
        </div>
        <div className="field">
          <button type="submit">Show</button>
        </div>
      </form>
      {records.length === 0 ? (
        <Empty>
          <p>No record fits.</p>
        </Empty>
      ) : (
        <TableBox label="Audit records, newest first">
          <table>
            <thead>
              <tr>
                <th scope="col" className="number">
                  Link
                </th>
                <th scope="col">When</th>
                <th scope="col">Who</th>
                <th scope="col">What</th>
                <th scope="col">About</th>
                <th scope="col">Detail</th>
                <th scope="col">Hash</th>
              </tr>
            </thead>
            <tbody>
              {records.map((record) => (
                <tr key={record.sequence}>
                  <th scope="row" className="number">
                    {record.sequence}
                  </th>
                  <td>
                    <Instant at={record.at} timeZone={office.timeZone} />
                  </td>
                  <td>{record.actorName ?? <span className="quiet">the system</span>}</td>
                  <td>{record.event}</td>
                  <td>
                    <a href={`?${new URLSearchParams({ subject: record.subject })}`}>{record.subject}</a>
                  </td>
                  <td>
                    <code>{record.detail}</code>
                  </td>
                  <td>
                    <code>{record.hash.slice(0, 12)}…</code>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
      {records.length === AUDIT_PAGE && (
        <p>
          <a href={`?${older}`}>Older records</a>
        </p>
      )}
    </AdminPage>
  )
}
