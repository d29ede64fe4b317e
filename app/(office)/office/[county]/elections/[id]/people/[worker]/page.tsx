import { TableBox } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { milesText } from '@/lib/kernel/miles'
import type { Ineligibility } from '@/lib/roster/core/eligibility'
import { getWhyPerson, type WhyPerson } from '@/lib/roster/queries-why'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../../../../parts/county-nav'
import { OfficePage } from '../../../../../../parts/office-page'
import { count, dateText } from '../../../../../../parts/words'

export const metadata = { title: 'Why here, or nowhere' }

const REFUSED: Record<Ineligibility, string> = {
  excluded: 'barred from this election, or not active',
  'excluded-place': 'may not serve at the place, or said no to it',
  certificate: 'no certificate for the position on that day',
  availability: 'not available then',
  language: 'doesn’t speak a language that the seat asks for',
  skill: 'lacks a skill that the seat asks for',
  experience: 'hasn’t served often enough for the seat',
  residence: 'lives in another precinct',
  travel: 'further away than they, or the county, let them travel',
}

export default async function WhyPersonPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; id: string; worker: string }>
  searchParams: Promise<{ place?: string }>
}) {
  const { county, id, worker } = await params
  const { place } = await searchParams
  const base = `/office/${county}/elections/${id}`
  const actor = await requireActor(`${base}/people/${worker}`)
  const why = await orNotFound(getWhyPerson(actor, county, id, worker, place || null))
  return (
    <OfficePage
      title={`${why.name}: why here, or nowhere`}
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: why.head.countyName },
        { href: base, name: why.head.name },
      ]}
    >
      <CountyNav county={county} here="people" electionId={id} />
      <section className="panel" aria-labelledby="now">
        <h2 id="now">In the roster as it is</h2>
        <Now why={why} base={base} />
        {why.reason !== 'not-active' && (
          <p>
            {why.name} may take {why.eligibleSeats} of the election’s {count(why.seats, 'seat')}.
          </p>
        )}
        {why.refused.length > 0 && <Refused rows={why.refused} label="What rules out the others" />}
        <p>
          <a href={`/office/${county}/people/${worker}`}>The page of {why.name}</a>
        </p>
      </section>
      {why.reason !== 'not-active' && (
        <section className="panel" aria-labelledby="place">
          <h2 id="place">And why not at another place?</h2>
          <form method="get" className="row">
            <label htmlFor="asked">Place</label>
            <select id="asked" name="place" defaultValue={place ?? ''} key={place ?? ''}>
              <option value="">choose</option>
              {why.places.map((p) => (
                <option key={p.id} value={p.id}>
                  {p.name}
                </option>
              ))}
            </select>
            <button type="submit">Tell me</button>
          </form>
          {why.asked && <Asked asked={why.asked} name={why.name} />}
        </section>
      )}
    </OfficePage>
  )
}

function Now({ why, base }: { why: WhyPerson; base: string }) {
  const { name, reason, seated, head } = why
  switch (reason) {
    case 'not-active':
      return <p>{name} is not active: no roster looks at them.</p>
    case 'not-eligible':
      return <p>{name} sits nowhere: none of the seats may be theirs, for the reasons below.</p>
    case 'could-help':
      return (
        <p>
          {name} sits nowhere, though an empty seat is open to them. <a href={base}>Fill the seats again</a>,
          or put them there by hand.
        </p>
      )
    case 'no-seat-left':
      return (
        <p>
          {name} sits nowhere: every seat that they may take is held by somebody, and putting them there
          instead would fill no seat more. They are a good person to ask when somebody calls out.
        </p>
      )
    case 'placed':
      return (
        <ul>
          {seated.map((s) => (
            <li key={`${s.place} ${s.servesOn} ${s.position}`}>
              {s.position}, {s.place}
              {s.servesOn !== head.heldOn && `, ${dateText(s.servesOn, 'short')}`}
              {s.locked ? ': locked there by the office.' : '.'}
            </li>
          ))}
        </ul>
      )
  }
}

const Refused = ({ rows, label }: { rows: WhyPerson['refused']; label: string }) => (
  <>
    <h3>{label}</h3>
    <TableBox label={label}>
      <table>
        <thead>
          <tr>
            <th scope="col">Reason</th>
            <th scope="col" className="number">
              Seats
            </th>
          </tr>
        </thead>
        <tbody>
          {rows.map(({ why, seats }) => (
            <tr key={why}>
              <th scope="row">{REFUSED[why]}</th>
              <td className="number">{seats}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </TableBox>
  </>
)

function Asked({ asked, name }: { asked: NonNullable<WhyPerson['asked']>; name: string }) {
  switch (asked.outcome) {
    case 'here':
      return (
        <p role="status">
          {name} sits at {asked.place} already.
        </p>
      )
    case 'not-eligible':
      return (
        <>
          <p role="status">
            {name} may take no seat at {asked.place}:
          </p>
          <Refused rows={asked.refused} label={`Seats at ${asked.place}`} />
        </>
      )
    case 'no-exchange':
      return (
        <p role="status">
          {name} may sit at {asked.place}, but no single exchange brings them there: whoever sits there can’t
          take their seat, or is locked, or a more important seat would go empty.
        </p>
      )
    case 'exchange':
      return (
        <p role="status">
          As {asked.position} at {asked.place}, {name} would change places with whoever sits there. All
          together that{' '}
          {[
            asked.wishes === 0
              ? 'misses as many of the county’s wishes as now'
              : asked.wishes > 0
                ? `misses ${count(asked.wishes, 'wish', 'wishes')} of the county more`
                : `misses ${count(-asked.wishes, 'wish', 'wishes')} of the county fewer`,
            ...(asked.metres === null
              ? []
              : [
                  asked.metres > 0
                    ? `adds ${milesText(asked.metres / 1000)} of travel`
                    : `saves ${milesText(-asked.metres / 1000)} of travel`,
                ]),
          ].join(' and ')}
          .
        </p>
      )
  }
}
