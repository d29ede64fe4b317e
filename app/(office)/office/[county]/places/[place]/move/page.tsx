import { notFound } from 'next/navigation'
import { ActionForm } from '@/app/ui/action-form'
import { Notice, TableBox, Tag } from '@/app/ui/notice'
import { can } from '@/lib/auth/permissions'
import { requireActor } from '@/lib/auth/session'
import { isWhere, MovedToInput } from '@/lib/elections/commands-move'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import { previewMove } from '@/lib/elections/queries-move'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../../parts/office-page'
import { PointsMap } from '../../../../../parts/points-map'
import { count, dateText } from '../../../../../parts/words'
import { movePlaceAction } from '../../actions'

export const metadata = { title: 'Move a place' }

type Search = Partial<Record<'election' | 'name' | 'address' | 'lat' | 'lon' | 'reason', string>>

export default async function MovePage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; place: string }>
  searchParams: Promise<Search>
}) {
  const { county, place: placeId } = await params
  const search = await searchParams
  const actor = await requireActor(`/office/${county}/places/${placeId}/move`)
  const home = await orNotFound(getOfficeCounty(actor, county))
  if (!can(actor, 'changePlaces', county)) notFound()
  const elections = await orNotFound(listElections(actor, county))
  const election = elections.find((e) => e.id === search.election) ?? elections[0]
  if (!election) notFound()
  const asked = search.address !== undefined
  const wanted = MovedToInput.safeParse(search)
  const asks = wanted.success ? wanted.data : null
  const { place, touched, token } = await orNotFound(previewMove(actor, county, placeId, election.id, asks))
  const unmoved = asks !== null && isWhere(place, asks)
  const to = unmoved ? null : asks
  const problems = new Map(
    asked && !wanted.success
      ? wanted.error.issues.map((issue) => [String(issue.path[0]), issue.message])
      : [],
  )
  const voters = touched.precincts.reduce((sum, p) => sum + p.registeredVoters, 0)
  const told = touched.asked ? touched.people : []
  const unreached = told.filter((p) => p.reach.address === null)
  const typed = (name: 'name' | 'address' | 'lat' | 'lon', label: string) => (
    <div className="field">
      <label htmlFor={name}>{label}</label>
      <input
        id={name}
        name={name}
        defaultValue={search[name] ?? String(place[name])}
        autoComplete="off"
        aria-invalid={problems.has(name) || undefined}
        aria-describedby={problems.has(name) ? `${name}-error` : undefined}
      />
      {problems.has(name) && (
        <p className="field-error" id={`${name}-error`}>
          {problems.get(name)}
        </p>
      )}
    </div>
  )
  return (
    <OfficePage
      title={`Move ${place.name}`}
      crumbs={[
        { href: `/office/${county}`, name: home.name },
        { href: `/office/${county}/places`, name: 'Places' },
        { href: `/office/${county}/places/${place.id}`, name: place.name },
      ]}
    >
      <p className="lead">
        For {election.name}, {dateText(election.heldOn, 'long')}. Nothing happens before you confirm.
      </p>
      <section className="panel" aria-labelledby="where">
        <h2 id="where">1. Where to</h2>
        <form method="get">
          <input type="hidden" name="election" value={election.id} />
          <div className="form-grid">
            {typed('name', 'Name')}
            {typed('address', 'Address')}
            {typed('lat', 'Latitude')}
            {typed('lon', 'Longitude')}
            <div className="field">
              <label htmlFor="reason">Why</label>
              <input id="reason" name="reason" defaultValue={search.reason} autoComplete="off" />
            </div>
          </div>
          {(problems.size > 0 || unmoved) && (
            <div role="alert">
              <Notice kind="bad">
                <p>
                  {unmoved
                    ? 'This is where it is now. Give the new address and its degrees.'
                    : 'Please check the marked fields. Nothing was moved.'}
                </p>
              </Notice>
            </div>
          )}
          <button type="submit">Show whom it touches</button>
        </form>
      </section>
      <section className="panel" aria-labelledby="whom">
        <h2 id="whom">2. Whom and what it touches</h2>
        <ul>
          <li>
            {count(touched.people.length, 'person', 'people')} (the place has {count(touched.seats, 'seat')})
            {!touched.published && touched.people.length > 0 && ' (the roster is a draft)'}
          </li>
          <li>
            {count(touched.precincts.length, 'precinct')} (
            {touched.precincts.map((p) => p.code).join(', ') || 'none'}) with {voters.toLocaleString('en-US')}{' '}
            registered voters: tell them by your own notice and a sign at the old door
          </li>
          {touched.others.map((other) => (
            <li key={`${other.name} ${other.heldOn}`}>
              also used for {other.name}, {dateText(other.heldOn)}
            </li>
          ))}
        </ul>
        {to && <p className="quiet">On the map: ◇ now, ● then.</p>}
        {to && (
          <PointsMap
            points={[
              { id: 'from', lat: place.lat, lon: place.lon, title: 'now', shape: 'early' },
              { id: 'to', lat: to.lat, lon: to.lon, title: 'then', shape: 'place', chosen: true },
            ]}
          />
        )}
        {!touched.asked && touched.people.length > 0 && (
          <Notice kind="info">
            <p>
              No roster of this election is published yet: these people have not been asked, so nobody is
              written to.
            </p>
          </Notice>
        )}
        {told.length > 0 && (
          <TableBox label="People">
            <table>
              <thead>
                <tr>
                  <th scope="col">Person</th>
                  <th scope="col">Work</th>
                  <th scope="col">How they are told</th>
                </tr>
              </thead>
              <tbody>
                {told.map((person) => (
                  <tr key={person.id}>
                    <th scope="row">
                      <a href={`/office/${county}/people/${person.id}`}>{person.name}</a>
                    </th>
                    <td>
                      {person.seats
                        .map(
                          (s) =>
                            `${s.position.en}, ${dateText(s.servesOn, 'short')}, ${SHIFT_WORDS[s.shift]}`,
                        )
                        .join('; ')}
                    </td>
                    <td>
                      {person.reach.address ? (
                        `by e-mail, in ${person.reach.locale === 'es' ? 'Spanish' : 'English'}`
                      ) : (
                        <Tag kind="warn">no e-mail: call {person.phone ?? '(no phone)'}</Tag>
                      )}
                      {person.tooFar && (
                        <>
                          {' '}
                          <Tag kind="bad">further than they travel</Tag>
                        </>
                      )}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </TableBox>
        )}
      </section>
      {to && (
        <section className="panel" aria-labelledby="confirm">
          <h2 id="confirm">3. Move it and tell them</h2>
          <p>
            {place.name} moves to <b>{to.address}</b>.{' '}
            {count(told.length - unreached.length, 'person gets', 'people get')} one message each
            {unreached.length > 0 && `; ${count(unreached.length, 'person has', 'people have')} to be called`}
            .
          </p>
          <ActionForm action={movePlaceAction}>
            <input type="hidden" name="countyId" value={county} />
            <input type="hidden" name="placeId" value={place.id} />
            <input type="hidden" name="electionId" value={election.id} />
            <input type="hidden" name="name" value={to.name} />
            <input type="hidden" name="address" value={to.address} />
            <input type="hidden" name="lat" value={to.lat} />
            <input type="hidden" name="lon" value={to.lon} />
            <input type="hidden" name="token" value={token} />
            <div className="field">
              <label htmlFor="why">Why (it stands in the message)</label>
              <input id="why" name="reason" defaultValue={search.reason} required />
            </div>
            <p className="row">
              <button type="submit" data-kind="main">
                Move it and tell them
              </button>
              <a className="button" href={`/office/${county}/places/${place.id}`}>
                Leave it where it is
              </a>
            </p>
          </ActionForm>
        </section>
      )}
    </OfficePage>
  )
}
