import { ActionForm } from '@/app/ui/action-form'
import { Empty, Figures, Notice, TableBox, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { AROUND_HOURS, type CrewsPage, getCrews } from '@/lib/crews/queries'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import { dollars } from '@/lib/people/pay'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../parts/county-nav'
import { LiveFilter } from '../../../parts/live-filter'
import { OfficePage } from '../../../parts/office-page'
import { PageTurner } from '../../../parts/page-turner'
import { count, dateText } from '../../../parts/words'
import { applyCrewsAction } from './actions'
import { PlaceCrewPanel } from './place-crew'
import { SAME_PARTY, seatsWords, whenWords } from './rule-words'

export const metadata = { title: 'Crews' }

type Search = Partial<Record<'election' | 'name' | 'page' | 'said' | 'added' | 'removed' | 'version', string>>

function saidText(search: Search): string | null {
  switch (search.said) {
    case 'published':
      return `Version ${Number(search.version) || ''} of the rules is published. Look below at what it changes, then change the seats.`
    case 'changed':
      return 'The hand change is noted. The seats follow when you change them below.'
    case 'applied':
      return `Done: ${Number(search.added) || 0} seats added, ${Number(search.removed) || 0} taken away.`
    default:
      return null
  }
}

export default async function Crews({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<Search>
}) {
  const { county } = await params
  const search = await searchParams
  const actor = await requireActor(`/office/${county}/crews`)
  const home = await orNotFound(getOfficeCounty(actor, county))
  const elections = await orNotFound(listElections(actor, county))
  const election = elections.find((e) => e.id === search.election) ?? elections[0]
  const message = saidText(search)
  const frame = (children: React.ReactNode) => (
    <OfficePage
      title="Crews"
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: home.name },
      ]}
    >
      <CountyNav
        county={county}
        here="crews"
        electionId={elections.find((e) => e.daysToGo >= 0)?.id ?? null}
      />
      {message && (
        <div role="status">
          <Notice kind="good">
            <p>{message}</p>
          </Notice>
        </div>
      )}
      {children}
    </OfficePage>
  )
  if (!election)
    return frame(
      <Empty>
        <p>
          Crews belong to an election: <a href={`/office/${county}/elections`}>make one first</a>.
        </p>
      </Empty>,
    )
  const crews = await orNotFound(
    getCrews(actor, county, election.id, { name: search.name, page: Number(search.page) || 1 }),
  )
  const linkTo = (page: number) =>
    `?${new URLSearchParams({ election: election.id, ...(search.name ? { name: search.name } : {}), page: String(page) })}`
  return frame(
    <>
      <p className="lead">
        {election.name}, {dateText(election.heldOn)}.{' '}
        {elections.length > 1 && (
          <>
            Others:{' '}
            {elections
              .filter((e) => e.id !== election.id)
              .slice(0, 6)
              .map((e, i) => (
                <span key={e.id}>
                  {i > 0 && ', '}
                  <a href={`?election=${e.id}`}>{e.name}</a>
                </span>
              ))}
          </>
        )}
      </p>
      <section className="panel" aria-labelledby="seats">
        <h2 id="seats">Seats by the rules</h2>
        <Figures
          items={[
            { name: 'seats in all', value: crews.totals.seats },
            { name: 'from the rules', value: crews.totals.fromRules },
            {
              name: 'by hand',
              value: `${crews.totals.byHand > 0 ? '+' : crews.totals.byHand < 0 ? '−' : ''}${Math.abs(crews.totals.byHand)}`,
            },
            { name: 'cost, if all are filled', value: dollars(crews.totals.costCents) },
          ]}
        />
        <p className="small quiet">
          The cost counts each place’s hours and {AROUND_HOURS} more for setting up and closing, at{' '}
          <a href={`/office/${county}/service`}>your rates</a>
          {crews.totals.withoutRate.length > 0 && `; without a rate: ${crews.totals.withoutRate.join(', ')}`}.
        </p>
        {crews.unknownPositions.length > 0 && (
          <Notice kind="warn">
            <p>The rules name positions that the county doesn’t have: {crews.unknownPositions.join(', ')}.</p>
          </Notice>
        )}
        <Difference county={county} electionId={election.id} crews={crews} />
        <p>
          <a className="button" href={`/office/${county}/crews/waiting?election=${election.id}`}>
            How long would voters wait?
          </a>
        </p>
      </section>
      <RulesPanel county={county} crews={crews} />
      <section aria-labelledby="places">
        <h2 id="places">Crews by place</h2>
        <search>
          <LiveFilter>
            <input type="hidden" name="election" value={election.id} />
            <div className="field">
              <label htmlFor="name">Place or code</label>
              <input id="name" name="name" type="search" defaultValue={search.name} autoComplete="off" />
            </div>
            <div className="row">
              <button type="submit">Show</button>
            </div>
          </LiveFilter>
        </search>
        <p role="status">{count(crews.matching, 'place')}</p>
        {crews.places.map((place) => (
          <PlaceCrewPanel key={place.id} county={county} crews={crews} place={place} />
        ))}
        <PageTurner name="More places" of="places" page={crews.page} pages={crews.pages} linkTo={linkTo} />
      </section>
    </>,
  )
}

function Difference({ county, electionId, crews }: { county: string; electionId: string; crews: CrewsPage }) {
  const { add, remove, removeTaken, stay, mark, token } = crews.difference
  if (add + remove + mark === 0)
    return (
      <p>
        <Tag kind="good">The election’s seats are what the rules and hand changes say</Tag>
        {stay > 0 &&
          ` ${count(stay, 'seat more stays', 'seats more stay')}: a published roster or an offer names them.`}
      </p>
    )
  return (
    <>
      <p>
        The election’s seats differ from this: <b>{add} to add</b>, <b>{remove} to take away</b>
        {removeTaken > 0 &&
          ` (${count(removeTaken, 'person sits', 'people sit')} there in the draft and would lose the seat)`}
        {mark > 0 && `, ${mark} to mark anew as legal minimum or not`}
        {stay > 0 && `; ${stay} too many stay, because a published roster or an offer names them`}.
      </p>
      {crews.rules.version === 0 && (
        <Notice kind="warn">
          <p>
            These are the shipped template’s rules, not your county’s. Publish your own before you use them.
          </p>
        </Notice>
      )}
      {crews.mayChange && (
        <ActionForm action={applyCrewsAction}>
          <input type="hidden" name="countyId" value={county} />
          <input type="hidden" name="electionId" value={electionId} />
          <input type="hidden" name="token" value={token} />
          <button type="submit" data-kind="main">
            Change the seats
          </button>
        </ActionForm>
      )}
    </>
  )
}

const RulesPanel = ({ county, crews }: { county: string; crews: CrewsPage }) => {
  const { rules } = crews
  const nameOf = (key: string) => crews.positions.find((p) => p.key === key)?.nameEn ?? key
  return (
    <details className="panel" open={rules.version === 0}>
      <summary>
        {rules.version === 0
          ? 'The rules: a template, not adopted yet'
          : `The rules: version ${rules.version}, ${dateText(rules.publishedAt!.toISOString().slice(0, 10))}`}
      </summary>
      <p>
        Citation: {rules.citation.replace(/\.$/, '')}. On parties:{' '}
        {SAME_PARTY[rules.ruleTable.sameParty ?? '']}.
      </p>
      <TableBox label="Crew rules">
        <table>
          <thead>
            <tr>
              <th scope="col">Position</th>
              <th scope="col">For each</th>
              <th scope="col">Seats</th>
              <th scope="col">When</th>
              <th scope="col">Legal minimum</th>
            </tr>
          </thead>
          <tbody>
            {rules.ruleTable.rules.map((rule, i) => (
              <tr key={i}>
                <th scope="row">{nameOf(rule.position)}</th>
                <td>{rule.per}</td>
                <td>{seatsWords(rule)}</td>
                <td>
                  {whenWords(rule)}
                  {rule.citation && <span className="quiet small"> ({rule.citation})</span>}
                </td>
                <td>{rule.legalMinimum ? 'yes' : 'no'}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </TableBox>
      {crews.mayPublish && (
        <p>
          <a className="button" href={`/office/${county}/crews/rules`}>
            {rules.version === 0 ? 'Make these rules your own' : 'Change the rules'}
          </a>
        </p>
      )}
    </details>
  )
}
