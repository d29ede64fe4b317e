import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import { Notice, TableBox, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import type { Touched } from '@/lib/elections/facts-move'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import { previewMove } from '@/lib/elections/queries-move'
import { getPlace, type PlaceDetail } from '@/lib/places/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../../parts/county-nav'
import { OfficePage } from '../../../../parts/office-page'
import { PointsMap } from '../../../../parts/points-map'
import { count, dateText } from '../../../../parts/words'
import { addOpeningAction, removeOpeningAction, servePrecinctAction, setEquipmentAction } from '../actions'
import { PlaceForm } from '../place-form'
import { profileNames } from '../profiles'
import { DEVICES, PLACE_KINDS, SAID, shapeOf } from '../words'
import { Survey } from './survey'

export const metadata = { title: 'A place' }

const Ids = ({ county, place }: { county: string; place: string }) => (
  <>
    <input type="hidden" name="countyId" value={county} />
    <input type="hidden" name="placeId" value={place} />
  </>
)

const daysOf = (opening: PlaceDetail['openings'][number]) =>
  opening.firstOn === null
    ? 'Election day'
    : opening.lastOn && opening.lastOn !== opening.firstOn
      ? `${dateText(opening.firstOn)} to ${dateText(opening.lastOn)}`
      : dateText(opening.firstOn)

/** Who has been asked to work there and has no e-mail. */
const notReached = ({ asked, people }: Touched) =>
  asked ? people.filter((person) => person.reach.address === null) : []

export default async function PlacePage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; place: string }>
  searchParams: Promise<{ said?: string; told?: string }>
}) {
  const { county, place: placeId } = await params
  const { said, told } = await searchParams
  const actor = await requireActor(`/office/${county}/places/${placeId}`)
  const home = await orNotFound(getOfficeCounty(actor, county))
  const [place, elections] = await Promise.all([
    orNotFound(getPlace(actor, county, placeId)),
    orNotFound(listElections(actor, county)),
  ])
  const ahead = elections.filter((e) => e.daysToGo >= 0)
  const profiles = profileNames()
  const profileName = new Map(profiles)
  const voters = place.precincts.reduce((sum, p) => sum + p.registeredVoters, 0)
  // Who sits there and has no e-mail: no message reaches them, so they stay listed until the day is over.
  const lastMove = place.moves.find((move) => ahead.some((e) => e.id === move.electionId))
  const toCall =
    lastMove && place.mayChange
      ? notReached((await orNotFound(previewMove(actor, county, placeId, lastMove.electionId, null))).touched)
      : []
  const message =
    said === 'moved'
      ? `Moved. ${count(Number(told) || 0, 'person was', 'people were')} written to.`
      : SAID[said ?? '']
  return (
    <OfficePage
      title={place.name}
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: home.name },
        { href: `/office/${county}/places`, name: 'Places' },
      ]}
    >
      <CountyNav county={county} here="places" electionId={ahead[0]?.id ?? null} />
      {message && (
        <div role="status">
          <Notice kind="good">
            <p>
              {message}
              {said === 'moved' && toCall.length > 0 && (
                <>
                  {' '}
                  <a href="#moves">{count(toCall.length, 'person has', 'people have')} to be called.</a>
                </>
              )}
            </p>
          </Notice>
        </div>
      )}
      <div className="board-top">
        <section className="panel" aria-labelledby="what">
          <h2 id="what">What it is</h2>
          <dl className="pairs">
            <dt>Code</dt>
            <dd>{place.code}</dd>
            <dt>Kind</dt>
            <dd>{PLACE_KINDS[place.kind]}</dd>
            <dt>Address</dt>
            <dd>
              {place.address} {!place.located && <Tag kind="warn">not on the map yet</Tag>}
            </dd>
            <dt>Equipment</dt>
            <dd>{profileName.get(place.equipmentProfile) ?? place.equipmentProfile}</dd>
            <dt>Call</dt>
            <dd>
              {place.contactName || 'nobody noted'} {place.contactPhone}
            </dd>
            <dt>Keys</dt>
            <dd>{place.keysNote || 'nothing noted'}</dd>
            <dt>Serves</dt>
            <dd>
              {place.precincts.length === 0
                ? 'no precinct of its own'
                : `${count(place.precincts.length, 'precinct')}, ${voters.toLocaleString('en-US')} registered voters`}
            </dd>
          </dl>
          {place.mayChange && (
            <p className="row">
              {ahead.map((election) => (
                <a
                  key={election.id}
                  className="button"
                  href={`/office/${county}/places/${place.id}/move?election=${election.id}`}
                >
                  Move it for {election.name}
                </a>
              ))}
            </p>
          )}
        </section>
        <PointsMap
          points={[
            ...place.precincts.map((p) => ({
              id: p.id,
              lat: p.lat,
              lon: p.lon,
              title: `precinct ${p.code}`,
              shape: 'precinct' as const,
            })),
            {
              id: place.id,
              lat: place.lat,
              lon: place.lon,
              title: place.name,
              shape: shapeOf(place.kind),
              chosen: true,
            },
          ]}
        />
      </div>
      {place.mayChange && (
        <details className="panel">
          <summary>Change what it is</summary>
          <PlaceForm county={county} place={place} profiles={profiles} />
        </details>
      )}
      <div className="grid">
        <section className="panel" aria-labelledby="hours">
          <h2 id="hours">Days and hours</h2>
          {place.openings.length === 0 && <p className="quiet">No hours are noted.</p>}
          <ul className="picks">
            {place.openings.map((opening) => (
              <li key={opening.id}>
                <div>
                  {daysOf(opening)}, {opening.opensAt} to {opening.closesAt}
                </div>
                {place.mayChange && (
                  <ActionForm action={removeOpeningAction}>
                    <Ids county={county} place={place.id} />
                    <input type="hidden" name="openingId" value={opening.id} />
                    <button type="submit" data-kind="plain">
                      Remove<span className="only-heard"> {daysOf(opening)}</span>
                    </button>
                  </ActionForm>
                )}
              </li>
            ))}
          </ul>
          {place.mayChange && (
            <ActionForm action={addOpeningAction} fold="Add days and hours">
              <Ids county={county} place={place.id} />
              <Field name="firstOn" label="First day" hint="Empty: election day itself." type="date" />
              <Field name="lastOn" label="Last day" hint="Empty: the first day alone." type="date" />
              <Field name="opensAt" label="Opens" type="time" defaultValue="07:00" />
              <Field name="closesAt" label="Closes" type="time" defaultValue="20:00" />
              <button type="submit">Add</button>
            </ActionForm>
          )}
        </section>
        <section className="panel" aria-labelledby="devices">
          <h2 id="devices">Devices</h2>
          {place.equipment.length === 0 && <p className="quiet">None is noted.</p>}
          <ul>
            {place.equipment.map((e) => (
              <li key={e.id}>
                {e.count} {DEVICES[e.kind]} ({profileName.get(e.equipmentProfile) ?? e.equipmentProfile})
              </li>
            ))}
          </ul>
          {place.mayChange && (
            <ActionForm action={setEquipmentAction} id="set-devices" fold="Set a number">
              <Ids county={county} place={place.id} />
              <Choice name="kind" label="Kind" options={Object.entries(DEVICES)} />
              <Choice
                name="equipmentProfile"
                label="Equipment"
                options={profiles}
                defaultValue={place.equipmentProfile}
              />
              <Field
                name="count"
                label="How many"
                hint="0 takes the line away."
                type="number"
                min={0}
                max={200}
              />
              <button type="submit">Set</button>
            </ActionForm>
          )}
        </section>
        <section className="panel" aria-labelledby="precincts">
          <h2 id="precincts">Precincts served</h2>
          {place.precincts.length === 0 && <p className="quiet">None of its own.</p>}
          <ul>
            {place.precincts.map((p) => (
              <li key={p.id}>
                {p.code} {p.name}: {p.registeredVoters.toLocaleString('en-US')} registered voters
              </li>
            ))}
          </ul>
          {place.mayChange && (
            <ActionForm action={servePrecinctAction} fold="Serve another precinct">
              <Ids county={county} place={place.id} />
              <Field
                name="precinctCode"
                label="Code of the precinct"
                hint="It leaves the place that serves it now."
              />
              <button type="submit">Serve it here</button>
            </ActionForm>
          )}
        </section>
      </div>
      <Survey county={county} place={place} today={home.today} />
      {place.moves.length > 0 && (
        <section aria-labelledby="moves">
          <h2 id="moves">Where it was before</h2>
          <TableBox label="Moves">
            <table>
              <thead>
                <tr>
                  <th scope="col">Day</th>
                  <th scope="col">It was at</th>
                  <th scope="col">Why it moved</th>
                  <th scope="col">Written to</th>
                </tr>
              </thead>
              <tbody>
                {place.moves.map((move) => (
                  <tr key={move.id}>
                    <th scope="row">{dateText(move.movedOn)}</th>
                    <td>{move.from}</td>
                    <td>{move.reason}</td>
                    <td>{count(move.peopleTold, 'person', 'people')}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </TableBox>
          {toCall.length > 0 && (
            <>
              <p>
                {count(toCall.length, 'person sits', 'people sit')} here and{' '}
                {toCall.length === 1 ? 'has' : 'have'} no e-mail, so no message reached them. Call them:
              </p>
              <ul>
                {toCall.map((person) => (
                  <li key={person.id}>
                    <a href={`/office/${county}/people/${person.id}`}>{person.name}</a>,{' '}
                    {person.phone ? <a href={`tel:${person.phone}`}>{person.phone}</a> : 'no phone known'}
                  </li>
                ))}
              </ul>
            </>
          )}
        </section>
      )}
    </OfficePage>
  )
}
