import { ActionForm } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import { getAccount, getOffice } from '@/lib/auth/queries'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { AdminPage } from '../../../../parts/admin-page'
import { Instant } from '../../../../parts/instant'
import { ACCESS_WORDS, countyIdOf } from '../../../../parts/office'
import { ShownOnce } from '../../../../parts/shown-once'
import {
  disableAccountAction,
  enableAccountAction,
  endAllSignInsAction,
  newPasswordAction,
  removeAuthenticatorAction,
  revokeCardsAction,
} from '../../actions'

export const metadata = { title: 'Account' }

export default async function AccountAdminPage({
  params,
}: {
  params: Promise<{ county: string; account: string }>
}) {
  const { county, account: accountId } = await params
  const countyId = countyIdOf(county)
  const actor = await requireActor(`/admin/${county}/accounts/${accountId}`)
  const [office, account] = await Promise.all([
    orNotFound(getOffice(actor, countyId)),
    orNotFound(getAccount(actor, countyId, accountId)),
  ])
  const staff = account.access.some((grant) => grant.access !== 'pollWorker')
  const id = <input type="hidden" name="accountId" value={account.id} />
  return (
    <AdminPage actor={actor} countyId={countyId} office={office.name} title={account.name} here="accounts">
      {account.disabledAt && (
        <Notice kind="warn">
          <p>
            Disabled since <Instant at={account.disabledAt} timeZone={office.timeZone} />. Nobody can sign in
            with this account.
          </p>
        </Notice>
      )}
      <dl>
        <dt>E-mail address</dt>
        <dd>{account.email ?? 'none'}</dd>
        <dt>May</dt>
        <dd>
          {account.access
            .map((grant) => ACCESS_WORDS[grant.access] + (grant.countyId === null ? ' (every county)' : ''))
            .join(', ')}
        </dd>
        <dt>Authenticator</dt>
        <dd>{account.hasAuthenticator ? 'set up' : 'none'}</dd>
        <dt>Sign-in card</dt>
        <dd>{account.hasCard ? 'one that works' : 'none that works'}</dd>
      </dl>
      {account.pollWorkerId && countyId && (
        <p>
          <a href={`/office/${countyId}/people/${account.pollWorkerId}/card`}>Print a sign-in card</a>
        </p>
      )}
      <div className="stack">
        {staff && (
          <ActionForm action={newPasswordAction} className="panel">
            <h2>New password</h2>
            <p>Made at random and shown to you once. Everything that is signed in with this account ends.</p>
            <ShownOnce label="New password" />
            {id}
            <button type="submit">Give a new password</button>
          </ActionForm>
        )}
        {account.hasAuthenticator && (
          <ActionForm action={removeAuthenticatorAction} className="panel">
            <h2>Lost phone</h2>
            <p>
              Be sure who asks before you take the authenticator away: call back on a number that you know.
            </p>
            {id}
            <button type="submit">Take the authenticator away</button>
          </ActionForm>
        )}
        {account.hasCard && (
          <ActionForm action={revokeCardsAction} className="panel">
            <h2>Lost card</h2>
            {id}
            <button type="submit">End the card and its sign-ins</button>
          </ActionForm>
        )}
        <ActionForm action={endAllSignInsAction} className="panel">
          <h2>Sign-ins</h2>
          {id}
          <button type="submit">End all sign-ins</button>
        </ActionForm>
        <ActionForm
          action={account.disabledAt ? enableAccountAction : disableAccountAction}
          className="panel"
          key={account.disabledAt ? 'disabled' : 'in-use'}
        >
          <h2>{account.disabledAt ? 'Enable' : 'Disable'}</h2>
          {id}
          {account.disabledAt ? (
            <button type="submit">Enable the account again</button>
          ) : (
            <button type="submit" data-kind="bad">
              Disable the account
            </button>
          )}
        </ActionForm>
      </div>
    </AdminPage>
  )
}
