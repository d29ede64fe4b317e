import { notFound } from 'next/navigation'
import { ActionForm } from '@/app/ui/action-form'
import { can } from '@/lib/auth/permissions'
import { requireActor } from '@/lib/auth/session'
import { env } from '@/lib/env'
import { getPerson } from '@/lib/people/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../../parts/office-page'
import { printCardAction } from './actions'
import { CardSheet } from './card-sheet'

export const metadata = { title: 'Sign-in card' }

export default async function CardPage({ params }: { params: Promise<{ county: string; id: string }> }) {
  const { county, id } = await params
  const actor = await requireActor(`/office/${county}/people/${id}/card`)
  if (!can(actor, 'printSignInCard', county)) notFound()
  const person = await orNotFound(getPerson(actor, county, id))
  const name = `${person.givenName} ${person.familyName}`
  return (
    <OfficePage
      title={`Sign-in card for ${name}`}
      crumbs={[
        { href: `/office/${county}/people`, name: 'People' },
        { href: `/office/${county}/people/${id}`, name },
      ]}
    >
      <p className="no-print">
        A new card ends this person’s earlier cards. Its code is shown once: print the page (your browser’s
        print command) or write the code down before you leave it.
      </p>
      <ActionForm action={printCardAction}>
        <input type="hidden" name="workerId" value={id} />
        <CardSheet address={`${env().PUBLIC_URL ?? ''}/sign-in`} />
      </ActionForm>
    </OfficePage>
  )
}
