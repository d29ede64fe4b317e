import { notFound } from 'next/navigation'
import { can } from '@/lib/auth/permissions'
import { requireActor } from '@/lib/auth/session'
import { getOfficeCounty } from '@/lib/elections/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../parts/office-page'
import { PlaceForm } from '../place-form'
import { profileNames } from '../profiles'

export const metadata = { title: 'New place' }

export default async function NewPlacePage({ params }: { params: Promise<{ county: string }> }) {
  const { county } = await params
  const actor = await requireActor(`/office/${county}/places/new`)
  const home = await orNotFound(getOfficeCounty(actor, county))
  if (!can(actor, 'changePlaces', county)) notFound()
  return (
    <OfficePage
      title="New place"
      crumbs={[
        { href: `/office/${county}`, name: home.name },
        { href: `/office/${county}/places`, name: 'Places' },
      ]}
    >
      <PlaceForm county={county} place={null} profiles={profileNames()} />
    </OfficePage>
  )
}
