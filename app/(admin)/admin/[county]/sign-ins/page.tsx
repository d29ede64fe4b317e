import { ActionForm } from '@/app/ui/action-form'
import { Empty, TableBox, Tag } from '@/app/ui/notice'
import { can } from '@/lib/auth/permissions'
import { getOffice } from '@/lib/auth/queries'
import { requireActor } from '@/lib/auth/session'
import { listSignIns } from '@/lib/auth/sign-ins'
import { orNotFound } from '@/lib/web/or-not-found'
import { AdminPage } from '../../../parts/admin-page'
import { Instant } from '../../../parts/instant'
import { countyIdOf, METHOD_WORDS } from '../../../parts/office'
import { endSignInAction } from '../actions'

export const metadata = { title: 'Sign-ins' }

export default async function SignInsPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<{ q?: string | string[] }>
}) {
  const [{ county }, query] = await Promise.all([params, searchParams])
  const countyId = countyIdOf(county)
  const actor = await requireActor(`/admin/${county}/sign-ins`)
  const search = typeof query.q === 'string' ? query.q.slice(0, 100) : ''
  const [office, signIns] = await Promise.all([
    orNotFound(getOffice(actor, countyId)),
    orNotFound(listSignIns(actor, countyId, search)),
  ])
  const mayEnd = can(actor, 'endSignIns', countyId)
  return (
    <AdminPage actor={actor} countyId={countyId} office={office.name} title="Open sign-ins" here="sign-ins">
      <form method="get" className="row at-end">
        <div className="field">
          <label htmlFor="q">Name</label>
          <input id="q" name="q" type="search" defaultValue={search} maxLength={100} />
        </div>
        <div className="field">
          <button type="submit">Show</button>
        </div>
      </form>
      {signIns.length === 0 ? (
        <Empty>
          <p>Nobody of this office is signed in{search ? ' under that name' : ''}.</p>
        </Empty>
      ) : (
        <TableBox label="Open sign-ins">
          <table>
            <thead>
              <tr>
                <th scope="col">Name</th>
                <th scope="col">By</th>
                <th scope="col">Device</th>
                <th scope="col">Since</th>
                <th scope="col">Last seen</th>
                {mayEnd && <th scope="col">End</th>}
              </tr>
            </thead>
            <tbody>
              {signIns.map((signIn) => (
                <tr key={signIn.id}>
                  <th scope="row">{signIn.name}</th>
                  <td>{METHOD_WORDS[signIn.method] ?? signIn.method}</td>
                  <td>
                    {signIn.device} {signIn.sharedTablet && <Tag>shared tablet</Tag>}{' '}
                    {signIn.current && <Tag kind="good">you, here</Tag>}
                  </td>
                  <td>
                    <Instant at={signIn.startedAt} timeZone={office.timeZone} />
                  </td>
                  <td>
                    <Instant at={signIn.lastSeenAt} timeZone={office.timeZone} />
                  </td>
                  {mayEnd && (
                    <td>
                      <ActionForm action={endSignInAction}>
                        <input type="hidden" name="signInId" value={signIn.id} />
                        <button
                          type="submit"
                          aria-label={`End the sign-in of ${signIn.name}, ${signIn.device}`}
                        >
                          End
                        </button>
                      </ActionForm>
                    </td>
                  )}
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
      {signIns.length === 200 && (
        <p>These are the newest 200. Search for a part of the name to see others.</p>
      )}
    </AdminPage>
  )
}
