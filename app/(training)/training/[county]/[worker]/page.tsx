import { randomUUID } from 'node:crypto'
import { notFound } from 'next/navigation'
import { ActionForm, Field } from '@/app/ui/action-form'
import { Empty, Notice, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getTraineeOrThrow } from '@/lib/classes/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { CheckOffBoard } from '../../../parts/check-off-board'
import { TrainingPage } from '../../../parts/training-page'
import { recordCheckOffAction, revokeCheckOffAction } from './actions'

export const metadata = { title: 'Check-off' }

const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/
const profileName = (key: string) => key[0]!.toUpperCase() + key.slice(1)

export default async function TraineePage({
  params,
}: {
  params: Promise<{ county: string; worker: string }>
}) {
  const { county, worker } = await params
  if (!UUID.test(worker)) notFound()
  const trainee = await orNotFound(getTraineeOrThrow(await requireActor(), county, worker))
  return (
    <TrainingPage
      title={trainee.name}
      county={{ id: county, name: trainee.countyName }}
      here="check-offs"
      crumb={{ href: `/training/${county}`, name: 'Check-offs' }}
      narrow
    >
      {trainee.accommodations && (
        <Notice>
          <p>
            <strong>Accommodation:</strong> {trainee.accommodations}
          </p>
        </Notice>
      )}
      <section className="panel">
        <h2>Record a check-off</h2>
        <p>Record only what you saw with your own eyes, on the equipment named. Your name stands with it.</p>
        <CheckOffBoard
          countyId={county}
          workerId={trainee.id}
          name={trainee.name}
          tasks={trainee.tasks}
          profiles={trainee.equipmentProfiles}
          today={trainee.today}
          formKey={randomUUID()}
          action={recordCheckOffAction}
        />
      </section>
      <section>
        <h2>Recorded so far</h2>
        {trainee.records.length === 0 ? (
          <Empty>
            <p>Nothing yet. The first check-off appears here.</p>
          </Empty>
        ) : (
          trainee.records.map((record) => (
            <div className="panel" key={record.id}>
              <p>
                <strong>{trainee.tasks.find((t) => t.key === record.task)?.label.en ?? record.task}</strong>
                {', '}
                {record.on}
                {record.equipmentProfile && `, equipment “${profileName(record.equipmentProfile)}”`}
                {record.by && `, seen by ${record.by}`}{' '}
                {record.taken ? (
                  <Tag kind="bad">✕ taken back</Tag>
                ) : record.result === 'done' ? (
                  <Tag kind="good">✓ done</Tag>
                ) : (
                  <Tag kind="warn">↻ to repeat</Tag>
                )}
              </p>
              {!record.taken && (
                <ActionForm action={revokeCheckOffAction} fold="Take this back" className="more">
                  <input type="hidden" name="factId" value={record.id} />
                  <Field name="reason" label="Why? (kept in the record)" />
                  <button type="submit" data-kind="bad">
                    It no longer counts
                  </button>
                </ActionForm>
              )}
            </div>
          ))
        )}
      </section>
    </TrainingPage>
  )
}
