import { Empty, TableBox } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getPapersPage, type PapersPage } from '@/lib/roster/queries-packet'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../../parts/office-page'
import { count } from '../../../../../parts/words'
import { CountyPacket } from './county-packet'

export const metadata = { title: 'Papers' }

const LINKS = [
  ['packet', 'Whole packet'],
  ['place-sheet', 'Place sheet'],
  ['sign-in', 'Sign-in sheet'],
  ['badges', 'Badges'],
] as const

export default async function Papers({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; id: string }>
  searchParams: Promise<{ name?: string }>
}) {
  const { county, id } = await params
  const { name = '' } = await searchParams
  const actor = await requireActor(`/office/${county}/elections/${id}/papers`)
  const page = await orNotFound(getPapersPage(actor, county, id, name))
  const base = `/office/${county}/elections/${id}`
  return (
    <OfficePage
      title={`Papers: ${page.head.name}`}
      crumbs={[
        { href: `/office/${county}`, name: page.head.countyName },
        { href: base, name: page.head.name },
      ]}
    >
      <p className="lead">
        Everything that carries the morning without a computer, as PDF files for print.{' '}
        {page.head.roster
          ? `They show version ${page.head.roster.version}${page.head.roster.publishedAt ? '' : ', a draft'}, as it is now.`
          : 'There is no roster yet: all seats are printed as empty.'}
      </p>
      <p>
        <b>Phone numbers are personal</b>: give a sheet only to the people of that crew. Each download is
        recorded.
      </p>
      <CountyPacket page={page} base={base} />
      <section aria-labelledby="one">
        <h2 id="one">One place</h2>
        <search>
          <form className="filter" method="get" action={`${base}/papers#one`}>
            <div className="field">
              <label htmlFor="name">Place, by name or code</label>
              <input id="name" name="name" type="search" defaultValue={name} autoComplete="off" />
            </div>
            <button type="submit">Look</button>
          </form>
        </search>
        <Places page={page} base={base} />
      </section>
    </OfficePage>
  )
}

const Places = ({ page, base }: { page: PapersPage; base: string }) =>
  page.places.length === 0 ? (
    <Empty>
      <p>No place of this election has a name or code like this.</p>
    </Empty>
  ) : (
    <>
      <TableBox label="Papers of each place">
        <table>
          <thead>
            <tr>
              <th scope="col">Place</th>
              <th scope="col">Papers</th>
            </tr>
          </thead>
          <tbody>
            {page.places.map((place) => (
              <tr key={place.id}>
                <th scope="row">
                  {place.code} {place.name}
                </th>
                <td>
                  <ul className="paper-links">
                    {LINKS.map(([key, words]) => (
                      <li key={key}>
                        <a
                          href={`${base}/papers/places/${place.id}/${key}.pdf`}
                          aria-label={`${words} of ${place.code} ${place.name}`}
                        >
                          {words}
                        </a>
                      </li>
                    ))}
                  </ul>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </TableBox>
      {page.matching > page.places.length && (
        <p className="quiet">
          The first {page.places.length} of {count(page.matching, 'place')}. Type part of a name or a code to
          find another.
        </p>
      )}
    </>
  )
