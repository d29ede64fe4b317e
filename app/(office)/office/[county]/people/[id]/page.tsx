import { Notice, TableBox, Tag } from '@/app/ui/notice'
import { can } from '@/lib/auth/permissions'
import { requireActor } from '@/lib/auth/session'
import { todoLines } from '@/lib/certification/core/todo-lines'
import { getStandingOrThrow } from '@/lib/certification/queries'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import { listTopicNames } from '@/lib/path/queries-evidence'
import { languageName } from '@/lib/people/filter'
import { getPerson, listPositions, type PersonDetail } from '@/lib/people/queries'
import { getHistory } from '@/lib/people/queries-history'
import { barredBy } from '@/lib/people/service-rules'
import { listAskedCorrections } from '@/lib/record/queries-corrections'
import { SHIFT_WORDS, saidOf } from '@/lib/roster/words'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../../parts/county-nav'
import { OfficePage } from '../../../../parts/office-page'
import { dateText, lastDayOf } from '../../../../parts/words'
import { Asked } from './asked'
import { Exclusions } from './exclusions'
import { NoteForm } from './note-form'
import { OfferForm } from './offer-form'
import { Pairs } from './pairs'
import { Pay } from './pay'
import { Timeline } from './timeline'

export const metadata = { title: 'A person' }

const SAID: Record<string, string> = {
  oldPoint:
    'Saved. Latitude and longitude are still those of the old address, and rosters go by them: correct them too, or empty them.',
  answered: 'Answered. The person is written to, and reads it on their own page.',
  answeredUnwritten: 'Answered. The person reads it on their own page; they have no e-mail, so call them.',
}

const BARRED_WORDS = {
  students: 'This county lets no students serve.',
  'student-age': 'This student is younger than the county’s rule asks.',
  residents: 'This county lets only its own residents serve.',
}

export default async function PersonPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; id: string }>
  searchParams: Promise<{ said?: string }>
}) {
  const { county, id } = await params
  const { said } = await searchParams
  const actor = await requireActor(`/office/${county}/people/${id}`)
  const [home, person] = await Promise.all([
    orNotFound(getOfficeCounty(actor, county)),
    orNotFound(getPerson(actor, county, id)),
  ])
  const [standing, positions, history, elections, names, asked] = await Promise.all([
    orNotFound(getStandingOrThrow(actor, id)),
    listPositions(county),
    orNotFound(getHistory(actor, county, id)),
    orNotFound(listElections(actor, county)),
    orNotFound(listTopicNames(actor, county)),
    can(actor, 'changePeople', county) ? orNotFound(listAskedCorrections(actor, county, id)) : [],
  ])
  const next = standing.nextElection
  const mayChange = can(actor, 'changePeople', county)
  const barred = next ? barredBy(history.rules, person, next.heldOn) : null
  const name = `${person.givenName} ${person.familyName}`
  const nameOf = (key: string) =>
    positions.find((p) => p.certificateKey === key || p.key === key)?.nameEn ?? key
  const message = SAID[said ?? ''] ?? saidOf(said)
  const wanted = positions.find((p) => p.key === person.wantsPositionKey)
  const certificates = [...standing.certificates].sort(
    (a, b) =>
      Number(b.certificateKey === wanted?.certificateKey) -
        Number(a.certificateKey === wanted?.certificateKey) || Number(b.valid) - Number(a.valid),
  )
  return (
    <OfficePage
      title={name}
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: home.name },
        { href: `/office/${county}/people`, name: 'People' },
      ]}
    >
      <CountyNav county={county} here="people" electionId={next?.id ?? null} />
      {person.mergedInto && (
        <Notice kind="warn">
          <p>
            This record was merged into{' '}
            <a href={`/office/${county}/people/${person.mergedInto.id}`}>
              number {person.mergedInto.countyRef}
            </a>
            , where everything counts.
          </p>
        </Notice>
      )}
      {message && (
        <div role="status">
          <Notice kind="good">
            <p>{message}</p>
          </Notice>
        </div>
      )}
      {!person.active && (
        <Notice kind="warn">
          <p>This person is not active: no roster seats them.</p>
        </Notice>
      )}
      {barred && (
        <Notice kind="warn">
          <p>
            {BARRED_WORDS[barred]} No roster seats this person (
            <a href={`/office/${county}/service`}>the rule</a>).
          </p>
        </Notice>
      )}
      <Asked county={county} asked={asked} />
      <div className="grid">
        <section className="panel" aria-labelledby="who">
          <h2 id="who">Who it is</h2>
          <dl className="pairs">
            <dt>Number</dt>
            <dd>{person.countyRef}</dd>
            {'phone' in person && (
              <>
                <dt>Phone</dt>
                <dd>{person.phone ?? 'none'}</dd>
                <dt>E-mail</dt>
                <dd>{person.email ?? 'none'}</dd>
              </>
            )}
            {person.birthYear && (
              <>
                <dt>Year of birth</dt>
                <dd>{person.birthYear}</dd>
              </>
            )}
            <dt>Languages</dt>
            <dd>{person.languages.map(languageName).join(', ') || 'none noted'}</dd>
            {(person.student || person.livesOutside) && (
              <>
                <dt>Serves as</dt>
                <dd>
                  {[person.student && 'student', person.livesOutside && 'lives outside the county']
                    .filter(Boolean)
                    .join(', ')}
                </dd>
              </>
            )}
            <dt>Elections served</dt>
            <dd>{person.electionsServed}</dd>
            {'party' in person && (
              <>
                <dt>Party</dt>
                <dd>{person.party ?? 'none'}</dd>
              </>
            )}
            {'address' in person && (
              <>
                <dt>Address</dt>
                <dd>{addressText(person)}</dd>
                {person.homePrecinct && (
                  <>
                    <dt>Home precinct</dt>
                    <dd>{person.homePrecinct}</dd>
                  </>
                )}
              </>
            )}
            {'accommodations' in person && person.accommodations && (
              <>
                <dt>Accommodations</dt>
                <dd>{person.accommodations}</dd>
              </>
            )}
          </dl>
          {mayChange && (
            <p className="row">
              <a className="button" href={`/office/${county}/people/${id}/correct`}>
                Correct these data
              </a>
              <a className="button" href={`/office/${county}/people/${id}/record.json`} download>
                Everything about this person
              </a>
            </p>
          )}
          {next && can(actor, 'readRoster', county) && (
            <p>
              <a href={`/office/${county}/elections/${next.id}/people/${id}`}>
                Why here, or nowhere, in the roster of {next.name}
              </a>
            </p>
          )}
          {can(actor, 'printSignInCard', county) && (
            <p>
              <a className="button" href={`/office/${county}/people/${id}/card`}>
                Sign-in card
              </a>
            </p>
          )}
          {can(actor, 'recordCheckOff', county) && (
            <p>
              <a href={`/training/${county}/${id}`}>Enter a check-off</a>
            </p>
          )}
        </section>
        <section className="panel" aria-labelledby="offers">
          <h2 id="offers">What this person offers</h2>
          {can(actor, 'changeRoster', county) ? (
            <OfferForm
              countyId={county}
              person={person}
              positions={positions.map((p) => ({ key: p.key, name: p.nameEn }))}
              electionDay={next?.heldOn ?? null}
            />
          ) : (
            <dl className="pairs">
              <dt>Position</dt>
              <dd>{wanted?.nameEn ?? 'no wish'}</dd>
              <dt>Part of the day</dt>
              <dd>{SHIFT_WORDS[person.offersShift]}</dd>
              <dt>Not available on</dt>
              <dd>{person.unavailableOn.map((day) => dateText(day)).join('; ') || 'no day noted'}</dd>
            </dl>
          )}
        </section>
      </div>
      <section aria-labelledby="certificates">
        <h2 id="certificates">Certificates</h2>
        <TableBox label="Certificates">
          <table>
            <thead>
              <tr>
                <th scope="col">Certificate</th>
                <th scope="col">Today</th>
                <th scope="col">{next ? `On ${dateText(next.heldOn)}` : 'Next election'}</th>
                <th scope="col">Still to do for that day</th>
              </tr>
            </thead>
            <tbody>
              {certificates.map((c) => (
                <tr key={c.certificateKey}>
                  <th scope="row">
                    {nameOf(c.certificateKey)}
                    {c.certificateKey === wanted?.certificateKey && (
                      <span className="quiet small"> (wanted)</span>
                    )}
                  </th>
                  <td>
                    {c.valid ? (
                      <>
                        <Tag kind="good">certified</Tag>{' '}
                        {c.until && <span className="small">to {dateText(lastDayOf(c.until))}</span>}
                      </>
                    ) : (
                      <span className="quiet">no</span>
                    )}
                  </td>
                  <td>
                    {c.validOnElectionDay ? (
                      <Tag kind="good">certified</Tag>
                    ) : (
                      <span className="quiet">no</span>
                    )}
                  </td>
                  <td>
                    {todoLines(c.todo)
                      .map((line) => line.en)
                      .join('; ') || '—'}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
        <p>
          <a href={`/office/${county}/people/${id}/certificates`}>Print, hand out or revoke certificates</a>
        </p>
      </section>
      {history.exclusions && (
        <Exclusions
          county={county}
          workerId={id}
          rows={history.exclusions}
          mayChange={mayChange}
          next={next}
        />
      )}
      {history.pairs && <Pairs county={county} workerId={id} rows={history.pairs} mayChange={mayChange} />}
      {history.pay && (
        <Pay
          county={county}
          workerId={id}
          rows={history.pay}
          rates={history.rates}
          positions={positions}
          elections={elections}
          mayChange={mayChange}
        />
      )}
      <section aria-labelledby="history">
        <h2 id="history">What happened</h2>
        {mayChange && <NoteForm county={county} workerId={id} />}
        <Timeline entries={history.entries} names={names} />
      </section>
      <section aria-labelledby="spans">
        <h2 id="spans">When they were and are certified</h2>
        {person.spans.length === 0 && <p className="quiet">Never so far.</p>}
        <ul>
          {person.spans.map((span) => (
            <li key={`${span.certificateKey} ${span.validFrom}`}>
              {nameOf(span.certificateKey)}: {dateText(span.validFrom)} to{' '}
              {span.validUntil ? dateText(lastDayOf(span.validUntil)) : 'no end'}
            </li>
          ))}
        </ul>
      </section>
    </OfficePage>
  )
}

function addressText(person: PersonDetail) {
  if (person.address) return person.addressProtected ? `${person.address} (protected)` : person.address
  return person.addressProtected ? <Tag kind="warn">protected: not shown</Tag> : 'none'
}
