import { Empty, Figures, Notice, TableBox } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import {
  estimateLine,
  type LineEstimate,
  MAY_WAIT_TOO_LONG,
  TOO_LONG_MINUTES,
} from '@/lib/crews/core/estimate'
import { getWaitingGround } from '@/lib/crews/queries'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../../parts/county-nav'
import { OfficePage } from '../../../../parts/office-page'
import { count } from '../../../../parts/words'
import { WaitPlot, WaitTable } from './wait-plot'

export const metadata = { title: 'Waiting times' }

type Search = Partial<Record<'election' | 'place' | 'checkIn' | 'voting', string>>

const stationsIn = (text: string | undefined, otherwise: number): number => {
  const n = Number(text)
  return Number.isInteger(n) && n >= 1 && n <= 200 ? n : otherwise
}

export default async function WaitingPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<Search>
}) {
  const { county } = await params
  const search = await searchParams
  const actor = await requireActor(`/office/${county}/crews/waiting`)
  const home = await orNotFound(getOfficeCounty(actor, county))
  const elections = await orNotFound(listElections(actor, county))
  const election = elections.find((e) => e.id === search.election) ?? elections[0]
  const ground = election && (await orNotFound(getWaitingGround(actor, county, election.id, search.place)))
  const crumbs = [
    { href: `/office/${county}`, name: home.name },
    { href: `/office/${county}/crews${election ? `?election=${election.id}` : ''}`, name: 'Crews' },
  ]
  if (!ground || !election)
    return (
      <OfficePage title="Waiting times" crumbs={crumbs}>
        <CountyNav county={county} here="crews" electionId={null} />
        <Empty>
          <p>Waiting times need an election and a place with registered voters.</p>
        </Empty>
      </OfficePage>
    )
  const { demand } = ground.rules
  const checkIn = stationsIn(search.checkIn, ground.checkInSeats ?? 2)
  const voting = stationsIn(search.voting, ground.votingStations ?? Math.max(2, checkIn * 3))
  const voters = ground.place.registeredVoters
  const lines = [
    {
      what: 'check-in',
      unit: 'check-in station',
      estimate: estimateLine(demand, voters, checkIn, demand.checkInMinutes),
    },
    {
      what: 'the ballot stations',
      unit: 'ballot station',
      estimate: estimateLine(demand, voters, voting, demand.votingMinutes),
    },
  ]
  return (
    <OfficePage title={`Waiting times: ${ground.place.name}`} crumbs={crumbs}>
      <CountyNav county={county} here="crews" electionId={election.id} />
      <form method="get" className="filter">
        <input type="hidden" name="election" value={election.id} />
        <div className="field">
          <label htmlFor="place">Place, the largest first</label>
          <select id="place" name="place" defaultValue={ground.place.id}>
            {ground.places.map((p) => (
              <option key={p.id} value={p.id}>
                {p.name} ({p.registeredVoters.toLocaleString('en-US')})
              </option>
            ))}
          </select>
        </div>
        <div className="field">
          <label htmlFor="checkIn">Check-in stations</label>
          <input id="checkIn" name="checkIn" type="number" min={1} max={200} defaultValue={checkIn} />
        </div>
        <div className="field">
          <label htmlFor="voting">Ballot stations</label>
          <input id="voting" name="voting" type="number" min={1} max={200} defaultValue={voting} />
        </div>
        <div className="row">
          <button type="submit" data-kind="main">
            Estimate
          </button>
        </div>
      </form>
      <p>
        {voters.toLocaleString('en-US')} registered voters, of whom {Math.round(demand.turnoutFraction * 100)}{' '}
        % vote here and {Math.round(demand.waitingAtOpeningFraction * 100)} % of those stand there at opening.
        Minutes: {demand.checkInMinutes} at check-in, {demand.votingMinutes} to vote. Source: {demand.source}
      </p>
      {voters === 0 && (
        <Notice kind="warn">
          <p>This place has no precinct with registered voters, so nobody comes in this estimate.</p>
        </Notice>
      )}
      {lines.map((line) => (
        <Line key={line.what} {...line} />
      ))}
      <p className="small quiet">
        An estimate, not a promise. Steady: Erlang’s C, as if an hour went on for ever with chance arrivals
        and varying service. Simulated: whole days from opening on, first come first served; the range holds
        the mean with 95 % confidence. Each line is looked at by itself.
      </p>
    </OfficePage>
  )
}

const Line = ({ what, unit, estimate }: { what: string; unit: string; estimate: LineEstimate }) => {
  const { day } = estimate
  const over = day.chanceOverThreshold.mean
  return (
    <section className="panel" aria-labelledby={unit.replaceAll(' ', '-')}>
      <h2 id={unit.replaceAll(' ', '-')}>
        At {what}, with {count(estimate.stations, unit)}
      </h2>
      <Figures
        items={[
          { name: 'mean wait of the day, minutes', value: day.meanWaitMinutes.mean.toFixed(1) },
          {
            name: `wait longer than ${TOO_LONG_MINUTES} minutes`,
            value: `${over > 0 && over < 0.001 ? '< 0.1' : (over * 100).toFixed(1)} %`,
          },
          { name: 'longest wait of a day, minutes', value: Math.round(day.longestWaitMinutes.mean) },
          { name: 'after closing, minutes', value: Math.round(day.overtimeMinutes.mean) },
        ]}
      />
      <p>
        {estimate.fewest === null
          ? 'Not even 200 stations keep the busiest hour short.'
          : `${count(estimate.fewest, unit)} would be the fewest with which at most ${MAY_WAIT_TOO_LONG * 100} % of the busiest hour wait longer than ${TOO_LONG_MINUTES} minutes, if that hour went on (without the rush at opening).`}
      </p>
      <ul className="legend">
        <li>― simulated mean, with its range</li>
        <li>■ steady</li>
        <li>▲ grows without end</li>
        <li>┄ 30 minutes</li>
      </ul>
      <WaitPlot estimate={estimate} />
      <TableBox label={`Waiting at ${what} by hour`}>
        <WaitTable estimate={estimate} what={what} />
      </TableBox>
      <p className="small quiet">Mean of {estimate.repetitions} simulated days; minutes up the side.</p>
    </section>
  )
}
