import { Tag } from '@/app/ui/notice'
import type { CountyGround, ElectionSummary } from '@/lib/elections/queries'
import { count, dateText } from '../../parts/words'

interface Step {
  name: string
  href: string
  done: boolean
  /** How it stands, or what it is for. */
  says: string
}

/** Whether a county has all that a roster can be filled from. */
export const isSetUp = (ground: CountyGround, hasElection: boolean): boolean =>
  hasElection && ground.positions > 0 && ground.places > 0 && ground.people > 0 && ground.seats > 0

/** What an empty county needs, in the order of the work: what is done, and what is next. */
export function SetUpList({
  county,
  ground,
  election,
}: {
  county: string
  ground: CountyGround
  election: ElectionSummary | null
}) {
  const steps = stepsOf(`/office/${county}`, ground, election)
  const next = steps.findIndex((step) => !step.done)
  return (
    <section className="panel" aria-labelledby="set-up">
      <h2 id="set-up">Set up your county</h2>
      <p>
        {steps.filter((step) => step.done).length} of {steps.length} steps done. You can change everything
        later.
      </p>
      <ol className="set-up">
        {steps.map((step, i) => (
          <li key={step.href + step.name}>
            <a href={step.href}>{step.name}</a>{' '}
            {step.done ? (
              <Tag kind="good">✓ done</Tag>
            ) : i === next ? (
              <Tag>→ next</Tag>
            ) : (
              <Tag kind="warn">○ to do</Tag>
            )}
            <br />
            <span className="small">{step.says}</span>
          </li>
        ))}
      </ol>
    </section>
  )
}

function stepsOf(base: string, ground: CountyGround, election: ElectionSummary | null): Step[] {
  return [
    {
      name: 'Positions and rules for certificates',
      href: `${base}/positions`,
      done: ground.positions > 0 && ground.unruled === 0,
      says:
        ground.positions === 0
          ? 'Adopt from templates what your county uses: lead, check-in and so on.'
          : `${count(ground.positions, 'position')}${ground.unruled > 0 ? `, ${ground.unruled} without a rule` : ''}.`,
    },
    {
      name: 'Places and precincts',
      href: `${base}/imports?kind=places`,
      done: ground.places > 0,
      says:
        ground.places === 0
          ? 'Bring in your list as a CSV or Excel file, or a VIP feed.'
          : `${count(ground.places, 'place')}.`,
    },
    {
      name: 'Hours of the polls',
      href: `${base}/places#hours`,
      done: ground.places > 0 && ground.withoutHours === 0,
      says:
        ground.places === 0
          ? 'For all places at once, when they are there.'
          : ground.withoutHours === 0
            ? 'Every place has its hours.'
            : `${count(ground.withoutHours, 'place has', 'places have')} no hours on election day.`,
    },
    {
      name: 'People',
      href: `${base}/imports`,
      done: ground.people > 0,
      says:
        ground.people === 0
          ? 'Bring in your list of poll workers.'
          : count(ground.people, 'person', 'people'),
    },
    {
      name: 'Training done before you moved here',
      href: `${base}/imports?kind=training`,
      done: ground.certified > 0,
      says:
        ground.certified === 0
          ? 'Only certified people get a seat. Bring in who was trained when, and who says so; or certify people anew.'
          : `${count(ground.certified, 'person is', 'people are')} certified${election ? ' on election day' : ''}.`,
    },
    {
      name: 'Your next election',
      href: `${base}/elections`,
      done: election !== null,
      says: election ? `${election.name}, ${dateText(election.heldOn)}.` : 'Its name and day.',
    },
    {
      name: 'Crew rules',
      href: `${base}/crews/rules`,
      done: ground.crewRules > 0,
      says: 'How many seats each place gets; begin from the template.',
    },
    {
      name: 'Seats',
      href: `${base}/crews${election ? `?election=${election.id}` : ''}`,
      done: ground.seats > 0,
      says: ground.seats > 0 ? count(ground.seats, 'seat') : 'Make them from the crew rules.',
    },
  ]
}
