import { redirect } from 'next/navigation'
import { Page } from '@/app/ui/frame'
import { requireActor } from '@/lib/auth/session'
import { listTrainingCounties } from '@/lib/classes/queries'

export const metadata = { title: 'Training' }

export default async function TrainingPage() {
  const actor = await requireActor()
  const counties = await listTrainingCounties(actor)
  if (counties.length === 1) redirect(`/training/${counties[0]!.id}`)
  return (
    <Page title="Training" here="/training">
      <p className="lead">Choose a county.</p>
      <ul>
        {counties.map((county) => (
          <li key={county.id}>
            <a href={`/training/${county.id}`}>{county.name}</a>
          </li>
        ))}
      </ul>
    </Page>
  )
}
