import { randomUUID } from 'node:crypto'
import { notFound } from 'next/navigation'
import { ActionForm, Field } from '@/app/ui/action-form'
import { Page } from '@/app/ui/frame'
import { Empty, Notice, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getTraineeOrThrow } from '@/lib/classes/queries'
import { orNotFound } from '@/lib/web/or-not-found'
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
    <Page
      title={trainee.name}
      here="/training"
      narrow
      crumbs={<a href={`/training/${county}`}>Check-offs, {trainee.countyName}</a>}
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
        <p>Record it only for what you saw with your own eyes, on the equipment named.</p>
        <ActionForm action={recordCheckOffAction}>
          <input type="hidden" name="workerId" value={trainee.id} />
          <input type="hidden" name="formKey" value={randomUUID()} />
          <fieldset>
            <legend>What did you see?</legend>
            {trainee.tasks.map((task, i) => (
              <label className="choice" key={task.key}>
                <input
                  type="radio"
                  name="task"
                  value={task.key}
                  defaultChecked={trainee.tasks.findIndex((t) => t.missing) === i}
                  required
                />
                <span>{task.label.en}</span>
                {task.missing ? <Tag kind="warn">○ open</Tag> : <Tag kind="good">✓ done</Tag>}
              </label>
            ))}
          </fieldset>
          <fieldset>
            <legend>On which equipment?</legend>
            {trainee.equipmentProfiles.map((profile) => (
              <label className="choice" key={profile}>
                <input
                  type="radio"
                  name="equipmentProfile"
                  value={profile}
                  defaultChecked={profile === trainee.countyProfile}
                  required
                />
                <span>Equipment “{profileName(profile)}”</span>
              </label>
            ))}
          </fieldset>
          <Field
            name="on"
            label="Day"
            type="date"
            defaultValue={trainee.today}
            max={trainee.today}
            required
          />
          <button type="submit" data-kind="main">
            Record the check-off
          </button>
        </ActionForm>
      </section>
      <section>
        <h2>Recorded so far</h2>
        {trainee.checkOffs.length === 0 ? (
          <Empty>
            <p>Nothing yet. The first check-off appears here.</p>
          </Empty>
        ) : (
          trainee.checkOffs.map((fact) => (
            <div className="panel" key={fact.id}>
              <p>
                <strong>{trainee.tasks.find((t) => t.key === fact.topic)?.label.en ?? fact.topic}</strong>
                {', '}
                {fact.on}
                {fact.equipmentProfile && `, equipment “${profileName(fact.equipmentProfile)}”`}{' '}
                {fact.taken && <Tag kind="bad">✕ taken back</Tag>}
              </p>
              {!fact.taken && (
                <details>
                  <summary>Take this back</summary>
                  <ActionForm action={revokeCheckOffAction}>
                    <input type="hidden" name="factId" value={fact.id} />
                    <Field name="reason" label={`Why? (kept in the record)`} />
                    <button type="submit" data-kind="bad">
                      It no longer counts
                    </button>
                  </ActionForm>
                </details>
              )}
            </div>
          ))
        )}
      </section>
    </Page>
  )
}
