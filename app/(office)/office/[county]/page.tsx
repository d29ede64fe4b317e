import { Empty, Figures, Notice } from '@/app/ui/notice'
import { can } from '@/lib/auth/permissions'
import { requireActor } from '@/lib/auth/session'
import {
  type CertifiedOverview,
  type CountyReadiness,
  getCertifiedOverview,
  getCountyGround,
  getCountyReadiness,
  listElections,
} from '@/lib/elections/queries'
import { listAskedCorrections } from '@/lib/record/queries-corrections'
import { getRuns } from '@/lib/roster/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../parts/county-nav'
import { OfficePage } from '../../parts/office-page'
import { SeatBars } from '../../parts/seat-bars'
import { count, dateText, daysText } from '../../parts/words'
import { isSetUp, SetUpList } from './set-up-list'

export const metadata = { title: 'County office' }

const MOST_ASKED = 10

export default async function CountyPage({ params }: { params: Promise<{ county: string }> }) {
  const { county } = await params
  const actor = await requireActor(`/office/${county}`)
  const readiness = await orNotFound(getCountyReadiness(actor, county))
  const [elections, certified, runs] = await Promise.all([
    orNotFound(listElections(actor, county)),
    orNotFound(getCertifiedOverview(actor, county, readiness.today, readiness.next?.heldOn ?? null)),
    readiness.next ? getRuns(readiness.next.id) : null,
  ])
  const next = readiness.next
  const ground = await orNotFound(getCountyGround(actor, county, next))
  const setUp = isSetUp(ground, next !== null)
  const mayFill = can(actor, 'changeRoster', county)
  const asked = can(actor, 'changePeople', county)
    ? await orNotFound(listAskedCorrections(actor, county))
    : []
  const steps =
    next && setUp
      ? nextSteps(county, readiness, certified, runs?.done?.outcome?.training.length ?? 0, mayFill)
      : []
  return (
    <OfficePage title={readiness.name} crumbs={[{ href: '/office', name: 'Office' }]}>
      <CountyNav county={county} here="overview" electionId={next?.id ?? null} />
      {!setUp && <SetUpList county={county} ground={ground} election={next} />}
      {asked.length > 0 && (
        <Notice kind="warn">
          <p>{count(asked.length, 'correction is', 'corrections are')} asked for:</p>
          <ul>
            {asked.slice(0, MOST_ASKED).map((request) => (
              <li key={request.id}>
                <a href={`/office/${county}/people/${request.workerId}`}>{request.name}</a>, since{' '}
                {dateText(request.askedOn)}
              </li>
            ))}
          </ul>
          {asked.length > MOST_ASKED && <p>and {asked.length - MOST_ASKED} more after these.</p>}
        </Notice>
      )}
      {next ? (
        <>
          <p className="lead">
            {next.name}: {dateText(next.heldOn, 'long')}, {daysText(next.daysToGo)}.
          </p>
          {steps.length > 0 && (
            <Notice kind={readiness.filled < readiness.seats ? 'warn' : 'good'}>
              <h2 className="only-heard">What to do next</h2>
              <ul>
                {steps.map((step) => (
                  <li key={step.href}>
                    <a href={step.href}>{step.link}</a>: {step.why}
                  </li>
                ))}
              </ul>
            </Notice>
          )}
          {readiness.seats > 0 && (
            <section className="panel" aria-labelledby="seats">
              <h2 id="seats">Seats by position</h2>
              <Figures
                items={[
                  { name: 'days to go', value: Math.max(0, next.daysToGo) },
                  { name: `of ${readiness.seats} seats filled`, value: readiness.filled },
                  { name: 'seats empty', value: readiness.seats - readiness.filled },
                ]}
              />
              <SeatBars positions={readiness.positions} />
            </section>
          )}
        </>
      ) : setUp ? (
        <Empty>
          <p>
            No election lies ahead in this county. <a href={`/office/${county}/elections`}>Make one</a>.
          </p>
        </Empty>
      ) : null}
      {ground.people > 0 && (
        <section className="panel" aria-labelledby="people">
          <h2 id="people">People</h2>
          <Figures
            items={[
              { name: 'active', value: certified.active },
              { name: 'certified today', value: certified.certifiedToday },
              ...(next
                ? [{ name: 'certified on election day', value: certified.certifiedOnElectionDay }]
                : []),
            ]}
          />
          {certified.lapsing > 0 && (
            <p>
              {count(certified.lapsing, 'person is', 'people are')} certified today but no longer on election
              day.
            </p>
          )}
          <p className="row">
            <a className="button" href={`/office/${county}/people`}>
              All people
            </a>
            {next && (
              <a className="button" href={`/office/${county}/people?certified=no`}>
                Not certified on election day
              </a>
            )}
          </p>
        </section>
      )}
      {elections.length > 0 && (
        <section aria-labelledby="elections">
          <h2 id="elections">Elections</h2>
          <ul>
            {elections.map((election) => (
              <li key={election.id}>
                <a href={`/office/${county}/elections/${election.id}`}>{election.name}</a>,{' '}
                {dateText(election.heldOn)} ({daysText(election.daysToGo)})
              </li>
            ))}
          </ul>
        </section>
      )}
    </OfficePage>
  )
}

function nextSteps(
  county: string,
  readiness: CountyReadiness,
  certified: CertifiedOverview,
  toTrain: number,
  mayFill: boolean,
): { href: string; link: string; why: string }[] {
  const board = `/office/${county}/elections/${readiness.next!.id}`
  const empty = readiness.seats - readiness.filled
  const steps: { href: string; link: string; why: string }[] = []
  if (readiness.roster === null)
    steps.push({
      href: board,
      link: mayFill ? 'Fill the seats' : 'Look at the roster',
      why: `no roster yet for ${readiness.seats} seats${mayFill ? '' : '; county staff can fill them'}.`,
    })
  else if (empty > 0)
    steps.push({
      href: `${board}?show=empty`,
      link: `Look at ${count(empty, 'empty seat')}`,
      why: 'each has its reason.',
    })
  if (readiness.roster && empty > 0 && toTrain > 0)
    steps.push({
      href: `${board}/training`,
      link: 'Whom to train next',
      why: `${count(toTrain, 'training', 'trainings')} would fill more seats.`,
    })
  if (mayFill && readiness.roster && !readiness.roster.publishedAt)
    steps.push({
      href: `${board}#publish`,
      link: 'Publish the roster',
      why: `version ${readiness.roster.version} is a draft.`,
    })
  if (readiness.roster?.publishedAt && empty === 0)
    steps.push({
      href: `${board}/print`,
      link: 'Print the crew lists',
      why: 'the roster is published and full.',
    })
  if (certified.lapsing > 0)
    steps.push({
      href: `/office/${county}/lapses`,
      link: 'Remind who lapses',
      why: `${count(certified.lapsing, 'certificate holder')} will have lapsed by election day.`,
    })
  return steps
}
