import { ActionForm } from '@/app/ui/action-form'
import { can } from '@/lib/auth/permissions'
import { getOffice } from '@/lib/auth/queries'
import { requireActor } from '@/lib/auth/session'
import { orNotFound } from '@/lib/web/or-not-found'
import { AdminPage } from '../../parts/admin-page'
import { countyIdOf } from '../../parts/office'
import { authenticatorRuleAction } from './actions'

export const metadata = { title: 'Administration' }

export default async function OfficeAdminPage({ params }: { params: Promise<{ county: string }> }) {
  const { county } = await params
  const countyId = countyIdOf(county)
  const actor = await requireActor(`/admin/${county}`)
  const office = await orNotFound(getOffice(actor, countyId))
  return (
    <AdminPage actor={actor} countyId={countyId} office={office.name} title={office.name}>
      <section className="panel" aria-labelledby="authenticator">
        <h2 id="authenticator">Authenticator</h2>
        <p>
          {office.authenticatorRequired
            ? 'Staff of this office need a code from an authenticator app when they sign in. Who has none is led to set one up.'
            : 'Staff of this office sign in by password alone, unless they have set up an authenticator themselves.'}
        </p>
        {can(actor, 'changeCounty', countyId) && (
          <ActionForm action={authenticatorRuleAction}>
            <input type="hidden" name="county" value={county} />
            <input type="hidden" name="required" value={office.authenticatorRequired ? 'no' : 'yes'} />
            <button type="submit">
              {office.authenticatorRequired
                ? 'No longer require an authenticator'
                : 'Require an authenticator of staff'}
            </button>
          </ActionForm>
        )}
      </section>
    </AdminPage>
  )
}
