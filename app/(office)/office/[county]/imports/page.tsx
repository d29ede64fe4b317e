import { Empty, Notice, TableBox, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import { IMPORT_KINDS } from '@/lib/exchange/core/fields'
import { listImports } from '@/lib/exchange/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../parts/county-nav'
import { OfficePage } from '../../../parts/office-page'
import { KIND_WORDS, sizeText, statusWords } from './words'

export const metadata = { title: 'Bring data in' }

const REFUSED: Record<string, string> = {
  large:
    'The file is too large: 50 MB is the most for a table, 512 MB for a VIP feed. Delete columns that you don’t need, or split it.',
  empty: 'The file is empty, or no file was chosen. Choose a file.',
  feed: 'An XML feed holds places and precincts: choose “Places and precincts” for it.',
  format: 'This kind of file can’t be read. Save the sheet as .xlsx without a password, or as “CSV UTF-8”.',
  broken: 'The file did not arrive whole. Choose it again.',
}

const HINTS = {
  people:
    'A row for each person, with the county’s own number, first and last name; the rest as you have it.',
  places:
    'A row for each place or precinct: code, name, address, coordinates, precinct, registered voters. Or a VIP 5.2 feed (XML).',
  training:
    'Who was trained for which position, on which day, and who says so: what your spreadsheets know. Your rules for certificates say whether it counts, and how long.',
  service: 'Who served on which day in which position.',
  nominations: 'Whom a party names for which position, in its order.',
}

export default async function ImportsPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<{ refused?: string; said?: string; kind?: string }>
}) {
  const { county } = await params
  const search = await searchParams
  const actor = await requireActor(`/office/${county}/imports`)
  const home = await orNotFound(getOfficeCounty(actor, county))
  const imports = await orNotFound(listImports(actor, county))
  const elections = home.mayReadRoster ? await orNotFound(listElections(actor, county)) : []
  const when = new Intl.DateTimeFormat('en-US', {
    dateStyle: 'medium',
    timeStyle: 'short',
    timeZone: home.timeZone,
  })
  const chosen = IMPORT_KINDS.find((kind) => kind === search.kind) ?? 'people'
  const refused = search.refused && (REFUSED[search.refused] ?? REFUSED.broken)
  return (
    <OfficePage
      title="Bring data in"
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: home.name },
      ]}
    >
      <CountyNav
        county={county}
        here="imports"
        electionId={elections.find((e) => e.daysToGo >= 0)?.id ?? null}
      />
      <p className="lead">
        From a CSV or Excel file. You see what it would change, row by row, before anything is written; then
        all of it is written or nothing.
      </p>
      {refused && (
        <div role="alert">
          <Notice kind="bad">
            <p>{refused}</p>
          </Notice>
        </div>
      )}
      {search.said === 'dropped' && (
        <div role="status">
          <Notice kind="good">
            <p>Dropped. The file is deleted, and nothing of it was written.</p>
          </Notice>
        </div>
      )}
      <section className="panel" aria-labelledby="new">
        <h2 id="new">Choose a file</h2>
        <form action={`/office/${county}/imports/upload`} method="post" encType="multipart/form-data">
          <fieldset className="choices">
            <legend>What is in it?</legend>
            {IMPORT_KINDS.map((kind) => (
              <label className="choice" key={kind}>
                <input type="radio" name="kind" value={kind} defaultChecked={kind === chosen} />
                <span>
                  <b>{KIND_WORDS[kind]}</b>
                  <br />
                  {HINTS[kind]}
                </span>
              </label>
            ))}
          </fieldset>
          <div className="field">
            <label htmlFor="file">The file</label>
            <p className="hint" id="file-hint">
              CSV, Excel (.xlsx) or VIP 5.2 (.xml). The first row names the columns; which is which you can
              change on the next page.
            </p>
            {/* The file stands last: what is said about it must arrive before it. */}
            <input
              id="file"
              name="file"
              type="file"
              required
              accept=".csv,.txt,.tsv,.xlsx,.xml,text/csv,application/xml"
              aria-describedby="file-hint"
            />
          </div>
          <button type="submit" data-kind="main">
            Look at it
          </button>
        </form>
      </section>
      <section aria-labelledby="before">
        <h2 id="before">Files so far</h2>
        {imports.length === 0 ? (
          <Empty>
            <p>No file yet. Begin with places, then people.</p>
          </Empty>
        ) : (
          <TableBox label="Files so far">
            <table>
              <thead>
                <tr>
                  <th scope="col">File</th>
                  <th scope="col">What</th>
                  <th scope="col">State</th>
                  <th scope="col">When</th>
                </tr>
              </thead>
              <tbody>
                {imports.map((one) => {
                  const { words, kind } = statusWords(one)
                  return (
                    <tr key={one.id}>
                      <th scope="row">
                        <a href={`/office/${county}/imports/${one.id}`}>{one.fileName}</a>{' '}
                        <span className="small quiet">{sizeText(one.bytes)}</span>
                      </th>
                      <td>{KIND_WORDS[one.kind]}</td>
                      <td>
                        <Tag kind={kind}>{words}</Tag>
                      </td>
                      <td className="one-line">{when.format(one.createdAt)}</td>
                    </tr>
                  )
                })}
              </tbody>
            </table>
          </TableBox>
        )}
      </section>
      <p>
        <a href={`/office/${county}/people/duplicates`}>Records that may be one person</a>
      </p>
    </OfficePage>
  )
}
