import { Empty, TableBox, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import { listPeople, listPositions } from '@/lib/people/queries'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../parts/county-nav'
import { OfficePage } from '../../../parts/office-page'
import { dateText } from '../../../parts/words'

export const metadata = { title: 'People' }

type Search = Record<
  'name' | 'position' | 'certificate' | 'certified' | 'after' | 'before',
  string | undefined
>

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
  const [elections, positions] = await Promise.all([
    orNotFound(listElections(actor, county)),
    listPositions(county),
  ])
  const next = elections.find((e) => e.daysToGo >= 0) ?? null
  const on = next?.heldOn ?? home.today
  const certified = search.certified === 'yes' || search.certified === 'no' ? search.certified : undefined
  const { people, ...cursors } = await orNotFound(
    listPeople(actor, county, {
      name: search.name,
      wantsPositionKey: search.position || undefined,
      certificateKey: search.certificate || undefined,
      certifiedOn: on,
      certified,
      after: search.after,
      before: search.before,
    }),
  )
  const nameOf = new Map(positions.map((p) => [p.key, p.nameEn]))
  const certificateName = new Map(positions.map((p) => [p.certificateKey, p.nameEn]))
  const pageLink = (cursor: { after: string } | { before: string }) => {
    const kept = { name: search.name, position: search.position, certificate: search.certificate, certified }
    const query = new URLSearchParams(
      Object.entries({ ...kept, ...cursor }).filter((e): e is [string, string] => Boolean(e[1])),
    )
    return `?${query}`
  }
  const [hasParty, hasAddress, hasPhone] = [
    people.some((p) => 'party' in p),
    people.some((p) => 'address' in p),
    people.some((p) => 'phone' in p),
  ]
  const onText = next ? `election day (${dateText(on)})` : 'today'
  return (
    <OfficePage
      title={`People of ${home.name}`}
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: home.name },
      ]}
    >
      <CountyNav county={county} here="people" electionId={next?.id ?? null} />
      <search>
        <form className="filter" method="get">
          <div className="field">
            <label htmlFor="name">Name or number</label>
            <input id="name" name="name" type="search" defaultValue={search.name} autoComplete="off" />
          </div>
          <div className="field">
            <label htmlFor="position">Wants to work in</label>
            <select id="position" name="position" defaultValue={search.position ?? ''}>
              <option value="">any position</option>
              {positions.map((p) => (
                <option key={p.key} value={p.key}>
                  {p.nameEn}
                </option>
              ))}
            </select>
          </div>
          <div className="field">
            <label htmlFor="certified">On {onText}</label>
            <select id="certified" name="certified" defaultValue={certified ?? ''}>
              <option value="">certified or not</option>
              <option value="yes">certified</option>
              <option value="no">not certified</option>
            </select>
          </div>
          <div className="field">
            <label htmlFor="certificate">Certificate</label>
            <select id="certificate" name="certificate" defaultValue={search.certificate ?? ''}>
              <option value="">any</option>
              {positions.map((p) => (
                <option key={p.key} value={p.certificateKey}>
                  {p.nameEn}
                </option>
              ))}
            </select>
          </div>
          <div className="row">
            <button type="submit" data-kind="main">
              Show
            </button>
            <a className="button" href={`/office/${county}/people`}>
              All
            </a>
          </div>
        </form>
      </search>
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
    </OfficePage>
  )
}
