import { ActionForm } from '@/app/ui/action-form'
import { Empty, Notice } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import { ChangeTogether } from '@/lib/people/change-together'
import { filterOnly, readPeopleFilter, type Search } from '@/lib/people/filter'
import { listPositions } from '@/lib/people/queries'
import { previewTogether } from '@/lib/people/queries-together'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../../parts/county-nav'
import { OfficePage } from '../../../../parts/office-page'
import { count, dateText } from '../../../../parts/words'
import { changeTogetherAction } from '../actions'

export const metadata = { title: 'Change people together' }

/** Names shown in the preview, each of which can be left out. */
const SHOWN = 200

export default async function TogetherPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<Search>
}) {
  const { county } = await params
  const search = await searchParams
  const actor = await requireActor(`/office/${county}/people/together`)
  const home = await orNotFound(getOfficeCounty(actor, county))
  const filter = readPeopleFilter(search)
  const wanted = ChangeTogether.safeParse({
    change: search.change,
    wantsPositionKey: search.wants ?? '',
    day: search.day,
  })
  const change = wanted.success ? wanted.data : null
  const [elections, positions, preview] = await Promise.all([
    orNotFound(listElections(actor, county)),
    listPositions(county),
    orNotFound(previewTogether(actor, county, filter, change)),
  ])
  const next = elections.find((e) => e.daysToGo >= 0) ?? null
  const query = filterOnly(filter)
  const nameOf = (key: string | null) => positions.find((p) => p.key === key)?.nameEn ?? 'no position'
  const words =
    change &&
    {
      inactive: 'set to not active: no roster seats them',
      active: 'set to active',
      wants: `noted as wanting: ${change.change === 'wants' ? nameOf(change.wantsPositionKey) : ''}`,
      free: `noted as able to serve on ${'day' in change ? dateText(change.day) : ''}`,
      away: `noted as away on ${'day' in change ? dateText(change.day) : ''}`,
    }[change.change]
  return (
    <OfficePage
      title="Change people together"
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: home.name },
        { href: `/office/${county}/people?${query}`, name: 'People' },
      ]}
    >
      <CountyNav county={county} here="people" electionId={next?.id ?? null} />
      <p className="lead">{count(preview.matching, 'person', 'people')} of your choice.</p>
      <section className="panel" aria-labelledby="what">
        <h2 id="what">1. What to change</h2>
        <form method="get" className="together">
          {[...new URLSearchParams(query)].map(([name, value]) => (
            <input key={name} type="hidden" name={name} value={value} />
          ))}
          <div className="filter">
            <div className="field">
              <label htmlFor="change">Change</label>
              <select id="change" name="change" defaultValue={change?.change ?? 'wants'}>
                <option value="wants">the position they want</option>
                <option value="free">can serve on a day</option>
                <option value="away">away on a day</option>
                <option value="inactive">set to not active</option>
                <option value="active">set to active</option>
              </select>
            </div>
            <div className="field for-position">
              <label htmlFor="wants">Position</label>
              <select
                id="wants"
                name="wants"
                defaultValue={change?.change === 'wants' ? (change.wantsPositionKey ?? '') : ''}
              >
                <option value="">no wish</option>
                {positions.map((p) => (
                  <option key={p.key} value={p.key}>
                    {p.nameEn}
                  </option>
                ))}
              </select>
            </div>
            <div className="field for-day">
              <label htmlFor="day">Day</label>
              <input
                id="day"
                name="day"
                type="date"
                defaultValue={change && 'day' in change ? change.day : (next?.heldOn ?? home.today)}
              />
            </div>
            <div className="row">
              <button type="submit">Show what would change</button>
            </div>
          </div>
        </form>
        {search.change && !change && (
          <Notice kind="bad">
            <p>Choose what to change, and a day where the change asks for one.</p>
          </Notice>
        )}
      </section>
      {change && (
        <section className="panel" aria-labelledby="who">
          <h2 id="who">2. For whom</h2>
          {preview.affected.length === 0 ? (
            <Empty>
              <p>For all of them it is so already: nothing would change.</p>
            </Empty>
          ) : (
            <ActionForm action={changeTogetherAction}>
              <p>
                <b>{count(preview.affected.length, 'person', 'people')}</b> would be {words}.
                {preview.matching > preview.affected.length &&
                  ` For the other ${(preview.matching - preview.affected.length).toLocaleString('en-US')} it is so already.`}
              </p>
              {preview.seated > 0 && (
                <Notice kind="warn">
                  <p>
                    {count(preview.seated, 'of them sits', 'of them sit')} on the roster of the next election.
                    The roster stays as it is; its board marks seats whose person may no longer sit there.
                  </p>
                </Notice>
              )}
              <input type="hidden" name="countyId" value={county} />
              <input type="hidden" name="query" value={query} />
              <input type="hidden" name="token" value={preview.token} />
              <input type="hidden" name="change" value={change.change} />
              {change.change === 'wants' && (
                <input type="hidden" name="wantsPositionKey" value={change.wantsPositionKey ?? ''} />
              )}
              {'day' in change && <input type="hidden" name="day" value={change.day} />}
              <fieldset>
                <legend>Tick whoever is to be left out</legend>
                <ul className="leave-out">
                  {preview.affected.slice(0, SHOWN).map((person) => (
                    <li key={person.id}>
                      <label className="tick">
                        <input type="checkbox" name="except[]" value={person.id} /> {person.name}{' '}
                        <span className="quiet small">{person.countyRef}</span>
                      </label>
                    </li>
                  ))}
                </ul>
              </fieldset>
              {preview.affected.length > SHOWN && (
                <p>
                  … and {count(preview.affected.length - SHOWN, 'more person', 'more people')}. Narrow the
                  choice to see every name.
                </p>
              )}
              <p className="row">
                <button type="submit" data-kind="main">
                  Change them
                </button>
                <a className="button" href={`/office/${county}/people?${query}`}>
                  Change nobody
                </a>
              </p>
            </ActionForm>
          )}
        </section>
      )}
    </OfficePage>
  )
}
