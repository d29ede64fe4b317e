import { Empty, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { type ClassSummary, listCountyClasses } from '@/lib/classes/queries-classes'
import { orNotFound } from '@/lib/web/or-not-found'
import { TrainingPage } from '../../../parts/training-page'

export const metadata = { title: 'Classes' }

const STATES = {
  open: ['open', 'info'],
  begun: ['to close', 'warn'],
  closed: ['closed', 'good'],
  cancelled: ['cancelled', 'bad'],
} as const

export default async function ClassesPage({ params }: { params: Promise<{ county: string }> }) {
  const { county: countyId } = await params
  const actor = await requireActor(`/training/${countyId}/classes`)
  const { county, upcoming, toClose, past } = await orNotFound(listCountyClasses(actor, countyId))
  return (
    <TrainingPage title="Classes" here="classes" county={county}>
      <p className="lead">In-person classes and check-off days: plan them, fill them, sign people in.</p>
      <p>
        <a className="button" data-kind="main" href={`/training/${county.id}/classes/new`}>
          Plan a class
        </a>{' '}
        <a className="button" href={`/training/${county.id}/classes/classes.csv`} download>
          All classes as CSV
        </a>
      </p>
      {toClose.length > 0 && (
        <section aria-labelledby="to-close">
          <h2 id="to-close">Today, or over and still to close</h2>
          <p>Attendance counts for certificates once the sheet is closed.</p>
          <Classes county={county.id} classes={toClose} />
        </section>
      )}
      <section aria-labelledby="upcoming">
        <h2 id="upcoming">Coming up</h2>
        {upcoming.length === 0 ? (
          <Empty>
            <p>No class is planned. Poll workers see new dates at once and book by themselves.</p>
          </Empty>
        ) : (
          <Classes county={county.id} classes={upcoming} />
        )}
      </section>
      {past.length > 0 && (
        <section aria-labelledby="past">
          <h2 id="past">Earlier</h2>
          <Classes county={county.id} classes={past} />
        </section>
      )}
    </TrainingPage>
  )
}

const Classes = ({ county, classes }: { county: string; classes: ClassSummary[] }) => (
  <ul className="listed">
    {classes.map((held) => (
      <li key={held.id}>
        <p>
          <a href={`/training/${county}/classes/${held.id}`}>{held.when}</a>
        </p>
        <p>
          {held.title}
          {held.forPosition && <span className="quiet"> ({held.forPosition})</span>}
        </p>
        <p className="row">
          <Tag kind={STATES[held.state][1]}>{STATES[held.state][0]}</Tag>
          <span className="small">
            {held.seats - held.seatsLeft} of {held.seats} seats taken
            {held.waiting > 0 && `, ${held.waiting} waiting`}. In{' '}
            {held.locale === 'es' ? 'Spanish' : 'English'}. {held.placeName}.
          </span>
        </p>
      </li>
    ))}
  </ul>
)
