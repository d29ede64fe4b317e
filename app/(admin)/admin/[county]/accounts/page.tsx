import { ActionForm, Field, Tick } from '@/app/ui/action-form'
import { Empty, Notice, TableBox, Tag } from '@/app/ui/notice'
import { STAFF_ACCESS } from '@/lib/auth/accounts'
import { getOffice, listAccounts } from '@/lib/auth/queries'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { AdminPage } from '../../../parts/admin-page'
import { ACCESS_WORDS, countyIdOf } from '../../../parts/office'
import { ShownOnce } from '../../../parts/shown-once'
import { createAccountAction } from '../actions'

export const metadata = { title: 'Accounts' }

type Query = Promise<{ kind?: string | string[]; q?: string | string[]; said?: string | string[] }>

export default async function AccountsPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Query
}) {
  const [{ county }, query] = await Promise.all([params, searchParams])
  const countyId = countyIdOf(county)
  const actor = await requireActor(`/admin/${county}/accounts`)
  const kind = query.kind === 'poll-workers' ? 'poll-workers' : 'staff'
  const search = typeof query.q === 'string' ? query.q.slice(0, 100) : ''
  const [office, accounts] = await Promise.all([
    orNotFound(getOffice(actor, countyId)),
    orNotFound(listAccounts(actor, countyId, { kind, search })),
  ])
  return (
    <AdminPage actor={actor} countyId={countyId} office={office.name} title="Accounts" here="accounts">
      {query.said === 'made' && (
        <div role="status">
          <Notice kind="good">
            <p>
              {office.name} is made. Now make an account for one of its staff below; who signs in finds a list
              of what to set up.
            </p>
          </Notice>
        </div>
      )}
      <form method="get" className="row at-end">
        <div className="field">
          <label htmlFor="kind">Show</label>
          <select id="kind" name="kind" defaultValue={kind}>
            <option value="staff">Staff and trainers</option>
            <option value="poll-workers">Poll workers</option>
          </select>
        </div>
        <div className="field">
          <label htmlFor="q">Name or e-mail address</label>
          <input id="q" name="q" type="search" defaultValue={search} maxLength={100} />
        </div>
        <div className="field">
          <button type="submit">Show</button>
        </div>
      </form>
      {accounts.length === 0 ? (
        <Empty>
          <p>No account fits. Change the search, or make an account below.</p>
        </Empty>
      ) : (
        <TableBox label="Accounts">
          <table>
            <thead>
              <tr>
                <th scope="col">Name</th>
                <th scope="col">E-mail address</th>
                <th scope="col">May</th>
                <th scope="col">Signs in by</th>
                <th scope="col">State</th>
              </tr>
            </thead>
            <tbody>
              {accounts.map((account) => (
                <tr key={account.id}>
                  <th scope="row">
                    <a href={`/admin/${county}/accounts/${account.id}`}>{account.name}</a>
                  </th>
                  <td>{account.email ?? <span className="quiet">none</span>}</td>
                  <td>{account.access.map((grant) => ACCESS_WORDS[grant.access]).join(', ')}</td>
                  <td>
                    {[
                      account.hasPassword &&
                        (account.hasAuthenticator ? 'password, authenticator' : 'password'),
                      account.hasCard && 'card',
                      kind === 'poll-workers' && account.email && 'mailed code',
                    ]
                      .filter(Boolean)
                      .join(', ') || <span className="quiet">nothing yet</span>}
                  </td>
                  <td>
                    {account.disabledAt ? <Tag kind="bad">disabled</Tag> : <Tag kind="good">in use</Tag>}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
      {accounts.length === 200 && (
        <p>These are the first 200. Search for a part of the name to see others.</p>
      )}
      <section className="panel" aria-labelledby="new-account">
        <h2 id="new-account">New account for staff</h2>
        <ActionForm action={createAccountAction}>
          <ShownOnce label="First password" />
          <input type="hidden" name="county" value={county} />
          <Field name="name" label="Name" autoComplete="off" maxLength={120} required />
          <Field
            name="email"
            label="E-mail address"
            type="email"
            autoComplete="off"
            maxLength={200}
            required
          />
          <fieldset>
            <legend>This person is</legend>
            {STAFF_ACCESS.map((access) => (
              <label className="choice" key={access}>
                <Tick type="radio" name="access" value={access} defaultChecked={access === 'trainer'} />
                {ACCESS_WORDS[access]}
              </label>
            ))}
          </fieldset>
          <button type="submit" data-kind="main">
            Make the account
          </button>
        </ActionForm>
      </section>
    </AdminPage>
  )
}
