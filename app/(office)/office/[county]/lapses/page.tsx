import { Empty, Figures, TableBox, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getLapses, type LapsesView } from '@/lib/reminders/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../parts/county-nav'
import { OfficePage } from '../../../parts/office-page'
import { PageTurner } from '../../../parts/page-turner'
import { count, dateText, lastDayOf } from '../../../parts/words'
import { LapsePlot } from './lapse-plot'
import { rowsShown } from './rows-shown'

export const metadata = { title: 'Who lapses' }

/** Rows of one page; the filters make it short. */
const ROWS = 200
const PLACES_PAGE = 60

type Search = Record<'certificate' | 'place' | 'at' | 'page', string | undefined>

export default async function LapsesPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<Search>
}) {
  const [{ county }, search] = await Promise.all([params, searchParams])
  const actor = await requireActor(`/office/${county}/lapses`)
  const view = await orNotFound(getLapses(actor, county))
  const people = new Set(view.rows.map((row) => row.workerId)).size
  const seated = new Set(view.rows.filter((row) => row.placeId).map((row) => row.workerId)).size
  return (
    <OfficePage
      title="Who lapses before election day"
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: view.county.name },
      ]}
    >
      <CountyNav county={county} here="lapses" electionId={view.election?.id ?? null} />
      {!view.election ? (
        <Empty>
          <p>No election lies ahead, so nobody has to renew for one.</p>
        </Empty>
      ) : view.rows.length === 0 ? (
        <Empty>
          <p>
            Everybody who holds a certificate today holds it through {view.election.name} on{' '}
            {dateText(view.election.heldOn)}.
          </p>
        </Empty>
      ) : (
        <>
          <p className="lead">
            They hold a certificate today, but no longer on {view.election.name},{' '}
            {dateText(view.election.heldOn, 'long')}. They can renew from now on.
          </p>
          <Figures
            items={[
              { name: 'people', value: people },
              { name: 'of them have a seat', value: seated },
              { name: 'certificates end', value: view.rows.length },
            ]}
          />
          <p>
            <a className="button" data-kind="main" href={`/office/${county}/reminders`}>
              Remind them
            </a>
          </p>
          <section className="panel" aria-labelledby="when">
            <h2 id="when">When, by position</h2>
            <LapsePlot view={view} />
          </section>
          <Places view={view} county={county} page={Number(search.page) || 1} />
          <People view={view} county={county} search={search} />
        </>
      )}
    </OfficePage>
  )
}

const Places = ({ view, county, page: asked }: { view: LapsesView; county: string; page: number }) => {
  const pages = Math.max(1, Math.ceil(view.byPlace.length / PLACES_PAGE))
  const page = Math.min(pages, Math.max(1, Math.floor(asked)))
  return (
    <section aria-labelledby="where">
      <h2 id="where">By place and precinct</h2>
      <TableBox label="By place and precinct">
        <table>
          <thead>
            <tr>
              <th scope="col">Place in the newest roster</th>
              <th scope="col">Precincts</th>
              <th scope="col" className="number">
                People
              </th>
              <th scope="col" className="number">
                Certificates
              </th>
            </tr>
          </thead>
          <tbody>
            {view.byPlace.slice((page - 1) * PLACES_PAGE, page * PLACES_PAGE).map((place) => (
              <tr key={place.id ?? 'none'}>
                <th scope="row">
                  <a href={`/office/${county}/lapses?place=${place.id ?? 'none'}#people`}>{place.name}</a>
                </th>
                <td>{place.precincts.join(', ') || '—'}</td>
                <td className="number">{place.people}</td>
                <td className="number">{place.lapsing}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </TableBox>
      <PageTurner
        name="More places"
        of="places"
        page={page}
        pages={pages}
        linkTo={(to) => `?page=${to}#where`}
      />
    </section>
  )
}

const People = ({ view, county, search }: { view: LapsesView; county: string; search: Search }) => {
  const placeName = new Map(view.byPlace.map((place) => [place.id, place.name] as const))
  const rows = rowsShown(view, search)
  const filtered = Boolean(search.certificate || search.place || search.at?.trim())
  return (
    <section aria-labelledby="people">
      <h2 id="people">People, soonest first</h2>
      <search>
        <form className="filter" method="get" action="#people">
          <div className="field">
            <label htmlFor="certificate">Certificate</label>
            <select id="certificate" name="certificate" defaultValue={search.certificate ?? ''}>
              <option value="">any</option>
              {view.byRole.map((role) => (
                <option key={role.key} value={role.key}>
                  {role.name}
                </option>
              ))}
            </select>
          </div>
          <div className="field">
            <label htmlFor="at">Place, by name or code</label>
            <input
              id="at"
              name="at"
              type="search"
              defaultValue={search.at ?? (search.place ? (placeName.get(search.place) ?? '') : '')}
              autoComplete="off"
            />
          </div>
          <div className="row">
            <button type="submit">Show</button>
            <a
              className="button"
              href={`/office/${county}/lapses/lapses.csv?${new URLSearchParams({ certificate: search.certificate ?? '', place: search.place ?? '', at: search.at ?? '' })}`}
              download
            >
              These as CSV
            </a>
            {filtered && (
              <a className="button" href={`/office/${county}/lapses#people`}>
                All
              </a>
            )}
          </div>
        </form>
      </search>
      {rows.length === 0 ? (
        <Empty>
          <p>Nobody fits. Take a filter away.</p>
        </Empty>
      ) : (
        <TableBox label="People">
          <table>
            <thead>
              <tr>
                <th scope="col">Name</th>
                <th scope="col">Certificate</th>
                <th scope="col">Last day</th>
                <th scope="col">Seat</th>
                <th scope="col">Written to</th>
              </tr>
            </thead>
            <tbody>
              {rows.slice(0, ROWS).map((row) => (
                <tr key={`${row.workerId} ${row.certificateKey}`}>
                  <th scope="row">
                    <a href={`/office/${county}/people/${row.workerId}`}>{row.name}</a>{' '}
                    <span className="quiet small">{row.countyRef}</span>
                  </th>
                  <td>{row.certificateName}</td>
                  <td className="one-line">{dateText(lastDayOf(row.lapsesOn))}</td>
                  <td>{row.placeId ? placeName.get(row.placeId) : '—'}</td>
                  <td>{row.written ? <Tag kind="good">✓ yes</Tag> : <Tag kind="warn">○ not yet</Tag>}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
      {rows.length > ROWS && <p>{count(rows.length - ROWS, 'more row is', 'more rows are')} not shown.</p>}
    </section>
  )
}
