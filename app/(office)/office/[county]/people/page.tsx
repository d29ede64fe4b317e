import { Empty, Notice, TableBox, Tag } from '@/app/ui/notice'
import { can } from '@/lib/auth/permissions'
import { requireActor } from '@/lib/auth/session'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import { AppError } from '@/lib/kernel/errors'
import { filterOnly, readPeopleFilter, type Search, searchOf } from '@/lib/people/filter'
import { listPositions } from '@/lib/people/queries'
import { listParties, listPeople, listSavedViews, type PeoplePage as Page } from '@/lib/people/queries-list'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../parts/county-nav'
import { LiveFilter } from '../../../parts/live-filter'
import { OfficePage } from '../../../parts/office-page'
import { count, dateText } from '../../../parts/words'
import { FilterFields } from './filter-fields'
import { ViewsPanel } from './views-panel'

export const metadata = { title: 'People' }

const SAID: Record<string, string> = {
  'view-kept': 'Kept. You find this view above the list from now on.',
  'view-removed': 'The view is removed. Nobody was changed.',
}

export default async function PeoplePage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<Search>
}) {
  const { county } = await params
  const search = await searchParams
  const actor = await requireActor(`/office/${county}/people`)
  const home = await orNotFound(getOfficeCounty(actor, county))
  const [elections, positions, views, parties] = await Promise.all([
    orNotFound(listElections(actor, county)),
    listPositions(county),
    listSavedViews(actor, county),
    listParties(actor, county),
  ])
  const next = elections.find((e) => e.daysToGo >= 0) ?? null
  const chosen = readPeopleFilter(search)
  const on = chosen.certifiedOn ?? next?.heldOn ?? home.today
  const filter = { ...chosen, certifiedOn: on }
  const { page, problem } = await pageOrProblem(() => listPeople(actor, county, filter))
  const { people, matching, ...cursors } = page
  const narrowed = filterOnly({ ...chosen, certifiedOn: undefined }) !== ''
  const nameOf = new Map(positions.map((p) => [p.key, p.nameEn]))
  const certificateName = new Map(positions.map((p) => [p.certificateKey, p.nameEn]))
  const pageLink = (cursor: { after: string } | { before: string }) =>
    `?${searchOf({ ...chosen, after: undefined, before: undefined, ...cursor })}`
  const [hasParty, hasAddress, hasPhone] = [
    people.some((p) => 'party' in p),
    people.some((p) => 'address' in p),
    people.some((p) => 'phone' in p),
  ]
  const onText = on === next?.heldOn ? `election day (${dateText(on)})` : dateText(on)
  const message =
    search.said === 'changed-together'
      ? `Done for ${count(Number(search.people) || 0, 'person', 'people')}.`
      : SAID[String(search.said)]
  return (
    <OfficePage
      title={`People of ${home.name}`}
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: home.name },
      ]}
    >
      <CountyNav county={county} here="people" electionId={next?.id ?? null} />
      {message && (
        <div role="status">
          <Notice kind="good">
            <p>{message}</p>
          </Notice>
        </div>
      )}
      {views.length > 0 && (
        <nav aria-label="Views that you kept">
          <ul className="views">
            {views.map((view) => (
              <li key={view.id}>
                <a
                  href={`?${view.query}`}
                  aria-current={view.query === filterOnly(chosen) ? 'page' : undefined}
                >
                  {view.name}
                </a>
              </li>
            ))}
          </ul>
        </nav>
      )}
      <search>
        <LiveFilter>
          <FilterFields
            filter={chosen}
            dayShown={on}
            positions={positions}
            parties={parties}
            mayParty={can(actor, 'readParty', county)}
            mayNear={can(actor, 'readHomeAddress', county)}
          >
            <div className="row">
              <button type="submit" data-kind="main">
                Show
              </button>
              <a className="button" href={`/office/${county}/people`}>
                All
              </a>
            </div>
          </FilterFields>
        </LiveFilter>
      </search>
      {problem && (
        <Notice kind="bad">
          <p>{problem}</p>
        </Notice>
      )}
      <p role="status">
        <b>{count(matching, 'person', 'people')}</b>
        {narrowed ? ' of this choice.' : ' on the list.'}
      </p>
      {can(actor, 'importData', county) && (
        <p>
          <a href={`/office/${county}/people/duplicates`}>Records that may be one person</a>
        </p>
      )}
      {matching > 0 && (
        <p className="row">
          {can(actor, 'changeRoster', county) && (
            <a className="button" href={`/office/${county}/people/together?${filterOnly(filter)}`}>
              Change {matching === 1 ? 'this person' : `these ${matching.toLocaleString('en-US')} together`}
            </a>
          )}
          <a className="button" href={`/office/${county}/people/people.csv?${filterOnly(filter)}`} download>
            These as CSV
          </a>
        </p>
      )}
      {people.length === 0 ? (
        <Empty>
          <p>Nobody fits this search. Take a filter away, or look for the first letters of a name only.</p>
        </Empty>
      ) : (
        <TableBox label="People">
          <table>
            <thead>
              <tr>
                <th scope="col">Name</th>
                <th scope="col">Number</th>
                <th scope="col">Wants</th>
                <th scope="col">Certified on {onText}</th>
                {hasPhone && <th scope="col">Phone</th>}
                {hasParty && <th scope="col">Party</th>}
                {hasAddress && <th scope="col">Address</th>}
              </tr>
            </thead>
            <tbody>
              {people.map((person) => (
                <tr key={person.id}>
                  <th scope="row">
                    <a href={`/office/${county}/people/${person.id}`}>
                      {person.familyName}, {person.givenName}
                    </a>
                    {!person.active && <span className="quiet small"> (not active)</span>}
                  </th>
                  <td className="one-line">{person.countyRef}</td>
                  <td>
                    {person.wantsPositionKey
                      ? (nameOf.get(person.wantsPositionKey) ?? person.wantsPositionKey)
                      : '—'}
                    {person.offersShift !== 'full' && (
                      <span className="quiet small"> ({SHIFT_WORDS[person.offersShift]} only)</span>
                    )}
                  </td>
                  <td>
                    {person.certificates.length === 0 ? (
                      <span className="quiet">not certified</span>
                    ) : (
                      person.certificates.map((key) => (
                        <Tag key={key} kind="good">
                          {certificateName.get(key) ?? key}
                        </Tag>
                      ))
                    )}
                  </td>
                  {hasPhone && <td className="one-line">{person.phone ?? '—'}</td>}
                  {hasParty && <td>{person.party ?? '—'}</td>}
                  {hasAddress && (
                    <td>
                      {person.address ?? (person.addressProtected ? <Tag kind="warn">protected</Tag> : '—')}
                    </td>
                  )}
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
      <nav className="row" aria-label="More people">
        {cursors.previous && (
          <a className="button" href={pageLink({ before: cursors.previous })}>
            ‹ Earlier names
          </a>
        )}
        {cursors.next && (
          <a className="button" href={pageLink({ after: cursors.next })}>
            Later names ›
          </a>
        )}
      </nav>
      <ViewsPanel county={county} query={filterOnly(chosen)} views={views} />
    </OfficePage>
  )
}

/** A filter that can't be followed (an unknown code) is told above an empty list, not by a page of its own. */
async function pageOrProblem(read: () => Promise<Page>) {
  try {
    return { page: await orNotFound(read()), problem: null }
  } catch (error) {
    if (!(error instanceof AppError) || error.code !== 'INVALID_INPUT') throw error
    return { page: { people: [], next: null, previous: null, matching: 0 }, problem: error.userMessage }
  }
}
