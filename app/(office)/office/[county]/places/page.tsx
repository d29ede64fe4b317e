import { ActionForm, Field } from '@/app/ui/action-form'
import { Empty, Notice, TableBox, Tag } from '@/app/ui/notice'
import { can } from '@/lib/auth/permissions'
import { requireActor } from '@/lib/auth/session'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import { listPlacePage, type PlaceFilter } from '@/lib/places/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../parts/county-nav'
import { LiveFilter } from '../../../parts/live-filter'
import { OfficePage } from '../../../parts/office-page'
import { PageTurner } from '../../../parts/page-turner'
import { PointsMap } from '../../../parts/points-map'
import { count, dateText } from '../../../parts/words'
import { setHoursAction } from './actions'
import { LACKS, placeFilterIn } from './filter'
import { PLACE_KINDS, shapeOf } from './words'

export const metadata = { title: 'Places' }

type Search = Partial<Record<'name' | 'kind' | 'lacks' | 'area' | 'page' | 'said' | 'places', string>>

export default async function PlacesPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<Search>
}) {
  const { county } = await params
  const search = await searchParams
  const actor = await requireActor(`/office/${county}/places`)
  const home = await orNotFound(getOfficeCounty(actor, county))
  const filter: PlaceFilter = {
    ...placeFilterIn(search),
    page: Number(search.page) || 1,
  }
  const [elections, list] = await Promise.all([
    orNotFound(listElections(actor, county)),
    orNotFound(listPlacePage(actor, county, filter)),
  ])
  const mayChange = can(actor, 'changePlaces', county)
  const linkTo = (change: { page?: string; area?: string }) => {
    const kept = {
      name: filter.name,
      kind: filter.kind,
      lacks: filter.lacks,
      area: filter.area?.join(','),
      ...change,
    }
    return `?${new URLSearchParams(Object.entries(kept).filter((e): e is [string, string] => Boolean(e[1])))}`
  }
  return (
    <OfficePage
      title={`Places of ${home.name}`}
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: home.name },
      ]}
    >
      <CountyNav
        county={county}
        here="places"
        electionId={elections.find((e) => e.daysToGo >= 0)?.id ?? null}
      />
      {search.said === 'hours' && (
        <div role="status" id="hours">
          <Notice kind="good">
            <p>
              {count(Number(search.places) || 0, 'place has', 'places have')} these hours now. Each can have
              its own on its page. <a href={`/office/${county}`}>Go on with the county</a>
            </p>
          </Notice>
        </div>
      )}
      {mayChange && list.withoutHours > 0 && (
        <section className="panel" aria-labelledby="hours">
          <h2 id="hours">Hours on election day</h2>
          <p>
            {count(list.withoutHours, 'place has', 'places have')} none. Offers, calendars and place sheets
            tell people when to come by them.
          </p>
          <ActionForm action={setHoursAction} id="hours-form">
            <input type="hidden" name="countyId" value={county} />
            <div className="form-grid">
              <Field name="opensAt" label="Polls open" type="time" defaultValue="07:00" />
              <Field name="closesAt" label="Polls close" type="time" defaultValue="20:00" />
            </div>
            <button type="submit">Set for {count(list.withoutHours, 'place')}</button>
          </ActionForm>
        </section>
      )}
      <div className="board-top">
        <div>
          <search>
            <LiveFilter>
              <div className="field">
                <label htmlFor="name">Name, address or code</label>
                <input id="name" name="name" type="search" defaultValue={search.name} autoComplete="off" />
              </div>
              <div className="field">
                <label htmlFor="kind">Kind</label>
                <select id="kind" name="kind" defaultValue={filter.kind ?? ''}>
                  <option value="">any</option>
                  {Object.entries(PLACE_KINDS).map(([key, words]) => (
                    <option key={key} value={key}>
                      {words}
                    </option>
                  ))}
                </select>
              </div>
              <div className="field">
                <label htmlFor="lacks">Lacks</label>
                <select id="lacks" name="lacks" defaultValue={filter.lacks ?? ''}>
                  {LACKS.map(([key, words]) => (
                    <option key={key} value={key}>
                      {words}
                    </option>
                  ))}
                </select>
              </div>
              <div className="row">
                <button type="submit">Show</button>
                <a className="button" href={`/office/${county}/places`}>
                  All places
                </a>
              </div>
            </LiveFilter>
          </search>
          <p role="status">
            <b>{count(list.matching, 'place')}</b>
            {filter.area && ' in this part of the map'}
          </p>
          <p className="row">
            <a className="button" href={`/office/${county}/places/places.csv${linkTo({})}`} download>
              These as CSV
            </a>
            {mayChange && (
              <a className="button" href={`/office/${county}/places/new`}>
                New place
              </a>
            )}
          </p>
          <ul className="legend">
            <li>● polling place</li>
            <li>■ vote center</li>
            <li>◇ early-voting site</li>
          </ul>
        </div>
        <PointsMap
          areaHref={(area) => linkTo({ area: area.join(',') })}
          points={list.points.map((p) => ({
            id: p.id,
            lat: p.lat,
            lon: p.lon,
            title: `${p.code} ${p.name}`,
            shape: shapeOf(p.kind),
            href: `/office/${county}/places/${p.id}`,
          }))}
        />
      </div>
      {list.places.length === 0 ? (
        <Empty>
          <p>
            {filter.name || filter.kind || filter.lacks || filter.area
              ? 'No place fits this search. Take a filter away.'
              : 'This county has no places yet. Make one here, or bring a file in.'}
          </p>
        </Empty>
      ) : (
        <TableBox label="Places">
          <table>
            <thead>
              <tr>
                <th scope="col">Place</th>
                <th scope="col">Code</th>
                <th scope="col">Kind</th>
                <th scope="col">Precincts</th>
                <th scope="col">Registered voters</th>
                <th scope="col">Devices</th>
                <th scope="col">Access survey</th>
              </tr>
            </thead>
            <tbody>
              {list.places.map((place) => (
                <tr key={place.id}>
                  <th scope="row">
                    <a href={`/office/${county}/places/${place.id}`}>{place.name}</a>
                    <span className="quiet small"> {place.address}</span>
                    {!place.located && <Tag kind="warn">not on the map</Tag>}
                  </th>
                  <td className="one-line">{place.code}</td>
                  <td>{PLACE_KINDS[place.kind]}</td>
                  <td>{place.precincts}</td>
                  <td>{place.registeredVoters.toLocaleString('en-US')}</td>
                  <td>{place.devices || '—'}</td>
                  <td>
                    {place.surveyedOn === null ? (
                      <span className="quiet">none</span>
                    ) : place.fallsShort > 0 ? (
                      <Tag kind="bad">{count(place.fallsShort, 'measure')} short</Tag>
                    ) : (
                      <>
                        <Tag kind="good">nothing short</Tag>{' '}
                        <span className="quiet small">{dateText(place.surveyedOn)}</span>
                      </>
                    )}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
      <PageTurner
        name="More places"
        of="codes"
        page={list.page}
        pages={list.pages}
        linkTo={(page) => linkTo({ page: String(page) })}
      />
    </OfficePage>
  )
}
