import { ActionForm } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getClassChoices, getClassSheetOrThrow } from '@/lib/classes/queries-classes'
import { orNotFound } from '@/lib/web/or-not-found'
import { ClassForm } from '../../../../../parts/class-form'
import { TrainingPage } from '../../../../../parts/training-page'
import { cancelClassAction, changeClassAction } from '../../actions'

export const metadata = { title: 'Change a class' }

export default async function ChangeClassPage({
  params,
}: {
  params: Promise<{ county: string; class: string }>
}) {
  const { county, class: id } = await params
  const actor = await requireActor(`/training/${county}/classes/${id}/change`)
  const [choices, { summary, fields, rows }] = await Promise.all([
    orNotFound(getClassChoices(actor, county)),
    orNotFound(getClassSheetOrThrow(actor, county, id)),
  ])
  const over = summary.state === 'cancelled' || summary.state === 'closed'
  return (
    <TrainingPage
      title="Change a class"
      here="classes"
      county={choices.county}
      crumb={{ href: `/training/${county}/classes/${id}`, name: 'The class' }}
      narrow
    >
      {over ? (
        <Notice kind="warn">
          <p>This class is {summary.state}. It can no longer be changed.</p>
        </Notice>
      ) : (
        <>
          {rows.length > 0 && (
            <p>
              {rows.length} {rows.length === 1 ? 'person is' : 'people are'} on the list. Who has e-mail is
              told of a change; please call the others.
            </p>
          )}
          <ClassForm
            choices={choices}
            action={changeClassAction}
            change={{ classId: id, revision: summary.revision }}
            fields={{
              topic: summary.topic,
              positionKey: fields.positionKey ?? '',
              locale: summary.locale,
              placeName: summary.placeName,
              placeAddress: summary.placeAddress,
              on: fields.on,
              from: fields.from,
              until: fields.until,
              seats: String(summary.seats),
              trainerName: summary.trainerName,
              note: summary.note,
            }}
          />
          <details className="panel more">
            <summary>Cancel this class</summary>
            <p>Everybody on the list is told by e-mail. This can’t be undone: plan a new class instead.</p>
            <ActionForm action={cancelClassAction}>
              <input type="hidden" name="classId" value={id} />
              <button type="submit" data-kind="bad">
                Cancel the class
              </button>
            </ActionForm>
          </details>
        </>
      )}
    </TrainingPage>
  )
}
