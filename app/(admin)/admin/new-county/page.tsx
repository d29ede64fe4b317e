import { notFound } from 'next/navigation'
import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import { can } from '@/lib/auth/permissions'
import { getOffice } from '@/lib/auth/queries'
import { requireActor } from '@/lib/auth/session'
import { listEquipmentProfiles } from '@/lib/scenarios/content'
import { orNotFound } from '@/lib/web/or-not-found'
import { AdminPage } from '../../parts/admin-page'
import { makeCountyAction } from './actions'

export const metadata = { title: 'A new county' }

/** Zones of the fifty states and the territories, each with its plain name. Source: IANA time zone database, zone1970.tab. */
const ZONES: [string, string][] = [
  ['America/New_York', 'Eastern'],
  ['America/Chicago', 'Central'],
  ['America/Denver', 'Mountain'],
  ['America/Phoenix', 'Mountain, without daylight saving (Arizona)'],
  ['America/Los_Angeles', 'Pacific'],
  ['America/Anchorage', 'Alaska'],
  ['America/Adak', 'Aleutian Islands'],
  ['Pacific/Honolulu', 'Hawaii'],
  ['America/Puerto_Rico', 'Puerto Rico and the Virgin Islands'],
  ['Pacific/Guam', 'Guam and the Northern Mariana Islands'],
  ['Pacific/Pago_Pago', 'American Samoa'],
]

export default async function NewCountyPage() {
  const actor = await requireActor('/admin/new-county')
  if (!can(actor, 'changeCounty', null)) notFound()
  const office = await orNotFound(getOffice(actor, null))
  return (
    <AdminPage actor={actor} countyId={null} office={office.name} title="A new county" here="new-county">
      <p>
        It begins empty: without people, places or rules. Next you make accounts for its staff; they find a
        list of what to set up on their first page.
      </p>
      <ActionForm action={makeCountyAction}>
        <Field name="name" label="Name" hint="Like “Ashgrove County”." maxLength={80} autoComplete="off" />
        <Choice
          name="timeZone"
          label="Time zone"
          options={ZONES.map(([zone, name]) => [zone, name])}
          defaultValue={office.timeZone}
        />
        <Choice
          name="equipmentProfile"
          label="Equipment at most of its places"
          hint="A place can have its own."
          options={listEquipmentProfiles().map((profile) => [profile.id, profile.name.en])}
        />
        <button type="submit" data-kind="main">
          Make the county
        </button>
      </ActionForm>
    </AdminPage>
  )
}
