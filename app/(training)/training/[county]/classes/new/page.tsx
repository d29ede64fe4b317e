import { requireActor } from '@/lib/auth/session'
import { getClassChoices } from '@/lib/classes/queries-classes'
import { orNotFound } from '@/lib/web/or-not-found'
import { ClassForm } from '../../../../parts/class-form'
import { TrainingPage } from '../../../../parts/training-page'
import { makeClassAction } from '../actions'

export const metadata = { title: 'Plan a class' }

export default async function NewClassPage({ params }: { params: Promise<{ county: string }> }) {
  const { county } = await params
  const actor = await requireActor(`/training/${county}/classes/new`)
  const choices = await orNotFound(getClassChoices(actor, county))
  return (
    <TrainingPage
      title="Plan a class"
      here="classes"
      county={choices.county}
      crumb={{ href: `/training/${county}/classes`, name: 'Classes' }}
      narrow
    >
      <ClassForm
        choices={choices}
        action={makeClassAction}
        fields={{
          topic: choices.topics[0]?.key ?? '',
          positionKey: '',
          locale: 'en',
          placeName: '',
          placeAddress: '',
          on: '',
          from: '18:00',
          until: '20:00',
          seats: '20',
          trainerName: actor.name,
          note: '',
        }}
      />
    </TrainingPage>
  )
}
