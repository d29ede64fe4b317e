import { notFound } from 'next/navigation'
import { ActionForm, Tick } from '@/app/ui/action-form'
import { Empty, Notice, Tag } from '@/app/ui/notice'
import { getOffice } from '@/lib/auth/queries'
import { requireActor } from '@/lib/auth/session'
import { keySetAddress } from '@/lib/certification/addresses'
import { listKeys } from '@/lib/certification/queries-keys'
import { orNotFound } from '@/lib/web/or-not-found'
import { AdminPage } from '../../../parts/admin-page'
import { Instant } from '../../../parts/instant'
import { countyIdOf } from '../../../parts/office'
import { rotateKeyAction, withdrawKeyAction } from './actions'

export const metadata = { title: 'Signing keys' }

/** The keys that sign a county's certificates: which is in use, which were, and the ways to change it. */
export default async function KeysPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<{ withdrawn?: string }>
}) {
  const { county } = await params
  const { withdrawn = '' } = await searchParams
  const countyId = countyIdOf(county)
  const actor = await requireActor(`/admin/${county}/keys`)
  // The state office itself issues nothing.
  if (countyId === null) notFound()
  const [office, keys] = await Promise.all([
    orNotFound(getOffice(actor, countyId)),
    orNotFound(listKeys(actor, countyId)),
  ])
  return (
    <AdminPage actor={actor} countyId={countyId} office={office.name} title="Signing keys" here="keys">
      {/^\d+$/.test(withdrawn) && (
        <div role="status">
          <Notice kind="good">
            <p>The key is withdrawn. Certificate files that count no more: {Number(withdrawn)}.</p>
          </Notice>
        </div>
      )}
      <p>
        Each certificate file is signed with the county’s key. Anybody can check the signature with the public
        half, which is published at <a href={keySetAddress(countyId)}>{keySetAddress(countyId)}</a>.
      </p>
      <section className="panel" aria-labelledby="change">
        <h2 id="change">{keys.length === 0 ? 'Make the first key' : 'Change the key'}</h2>
        {keys.length > 0 && (
          <p>
            Do this once a year, or when staff who looked after the server leave. The old private half is
            destroyed, so nobody can sign with it again. Printed certificates and their numbers stay good
            either way.
          </p>
        )}
        <ActionForm action={rotateKeyAction}>
          <input type="hidden" name="countyId" value={countyId} />
          {keys.length > 0 && (
            <fieldset>
              <legend>Certificate files that the old key signed</legend>
              <label className="choice">
                <Tick type="radio" name="signed" value="stays" defaultChecked />
                stay good, each until it ends (usual)
              </label>
              <label className="choice">
                <Tick type="radio" name="signed" value="expires" />
                count no more: each person downloads their file once more, signed with the new key
              </label>
            </fieldset>
          )}
          <button type="submit">{keys.length === 0 ? 'Make the first key' : 'Make a new key'}</button>
        </ActionForm>
      </section>
      {keys.length === 0 && (
        <Empty>
          <p>There is no key yet. It is made by itself when the first certificate file is asked for.</p>
        </Empty>
      )}
      {keys.map((key) => (
        <section key={key.id} className="panel" aria-labelledby={key.id}>
          <h2 id={key.id} className="small">
            Key <code>{key.id}</code>
          </h2>
          <p>
            {key.withdrawnAt ? (
              <Tag kind="bad">✕ withdrawn: what it signed is refused</Tag>
            ) : key.expiredAt ? (
              <Tag kind="warn">✕ replaced: what it signed is refused</Tag>
            ) : key.retiredAt ? (
              <Tag>○ signs no more: what it signed stays good</Tag>
            ) : (
              <Tag kind="good">✓ in use</Tag>
            )}
          </p>
          <p>
            Made <Instant at={key.createdAt} timeZone={office.timeZone} />
            {key.retiredAt && (
              <>
                , signed until <Instant at={key.retiredAt} timeZone={office.timeZone} />
              </>
            )}
            {key.withdrawnAt && (
              <>
                , withdrawn <Instant at={key.withdrawnAt} timeZone={office.timeZone} />
              </>
            )}
            . Certificate files signed{key.credentials === 0 && key.retiredAt ? ' and still good' : ''}:{' '}
            {key.credentials}.
          </p>
          {!key.withdrawnAt && (
            <details>
              <summary>This key was lost or stolen</summary>
              <p>
                Nothing that it signed counts any more. Each person downloads their certificate file once more
                and gets one that is signed anew. Printed certificates and their numbers stay good. This can’t
                be undone.
              </p>
              <ActionForm action={withdrawKeyAction}>
                <input type="hidden" name="countyId" value={countyId} />
                <input type="hidden" name="keyId" value={key.id} />
                <button type="submit" data-kind="bad">
                  Withdraw this key
                </button>
              </ActionForm>
            </details>
          )}
        </section>
      ))}
    </AdminPage>
  )
}
