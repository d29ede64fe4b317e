import { notFound } from 'next/navigation'
import { ActionForm, Tick } from '@/app/ui/action-form'
import { Empty } from '@/app/ui/notice'
import { getOffice } from '@/lib/auth/queries'
import { requireActor } from '@/lib/auth/session'
import { getLessonPlan } from '@/lib/scenarios/queries-lesson-plan'
import { orNotFound } from '@/lib/web/or-not-found'
import { AdminPage } from '../../../parts/admin-page'
import { countyIdOf } from '../../../parts/office'
import { lessonPlanAction } from './actions'

export const metadata = { title: 'Lessons by position' }

const GROUPS = {
  'voters-and-ballots': 'Voters and ballots',
  access: 'Access',
  'equipment-and-records': 'Equipment and records',
  'people-and-order': 'People and order',
} as const

const ORIGIN = {
  county: 'This county has chosen these lessons itself.',
  state: 'The state office has chosen these lessons. Saving makes a choice of this office’s own.',
  shipped: 'These lessons came with the product. Saving makes a choice of this office’s own.',
}

type Query = Promise<{ position?: string | string[] }>

/** Which lessons belong to which position: one position at a time. */
export default async function LessonPlanPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Query
}) {
  const [{ county }, query] = await Promise.all([params, searchParams])
  const countyId = countyIdOf(county)
  const actor = await requireActor(`/admin/${county}/lessons`)
  const [office, plan] = await Promise.all([
    orNotFound(getOffice(actor, countyId)),
    orNotFound(getLessonPlan(actor, countyId)),
  ])
  const wanted = typeof query.position === 'string' ? query.position : plan.positions[0]?.key
  const position = plan.positions.find((p) => p.key === wanted)
  if (wanted && !position) notFound()
  const minutes = (ids: readonly string[]) =>
    plan.lessons.filter((l) => ids.includes(l.id)).reduce((sum, l) => sum + l.minutes, 0)
  const isOwn = position && position.origin === (countyId === null ? 'state' : 'county')
  return (
    <AdminPage
      actor={actor}
      countyId={countyId}
      office={office.name}
      title="Lessons by position"
      here="lessons"
    >
      <p>
        A poll worker’s path shows these lessons first; every other lesson stays open for practice. What a
        certificate asks for is decided by its rule, not here.
      </p>
      {!position ? (
        <Empty>
          <p>There are no positions yet.</p>
        </Empty>
      ) : (
        <>
          <nav aria-label="Positions">
            <ul className="row admin-nav">
              {plan.positions.map((p) => (
                <li key={p.key}>
                  <a
                    href={`/admin/${county}/lessons?position=${p.key}`}
                    aria-current={p.key === position.key ? 'page' : undefined}
                  >
                    {p.name} ({p.lessons.length})
                  </a>
                </li>
              ))}
            </ul>
          </nav>
          <h2>{position.name}</h2>
          <p>
            {isOwn && countyId === null
              ? 'The state office has chosen these lessons.'
              : ORIGIN[position.origin]}{' '}
            They take about {minutes(position.lessons)} minutes in all.
          </p>
          <ActionForm action={lessonPlanAction} key={position.key}>
            <input type="hidden" name="county" value={county} />
            <input type="hidden" name="position" value={position.key} />
            {(Object.keys(GROUPS) as (keyof typeof GROUPS)[]).map((group) => (
              <fieldset key={group}>
                <legend>{GROUPS[group]}</legend>
                {plan.lessons
                  .filter((lesson) => lesson.group === group)
                  .map((lesson) => (
                    <label className="choice" key={lesson.id}>
                      <Tick
                        name="lessons[]"
                        value={lesson.id}
                        defaultChecked={position.lessons.includes(lesson.id)}
                      />
                      <span>
                        {lesson.number}. {lesson.title}{' '}
                        <span className="small quiet">{lesson.minutes} min</span>
                      </span>
                    </label>
                  ))}
              </fieldset>
            ))}
            <p className="row">
              <button type="submit" name="choice" value="own" data-kind="main">
                Save for {position.name}
              </button>
              {isOwn && (
                <button type="submit" name="choice" value="above">
                  {countyId === null ? 'Go back to what shipped' : 'Follow the state office again'}
                </button>
              )}
            </p>
          </ActionForm>
        </>
      )}
    </AdminPage>
  )
}
