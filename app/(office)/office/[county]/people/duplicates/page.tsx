import { ActionForm } from '@/app/ui/action-form'
import { Empty, Notice, TableBox, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getOfficeCounty, listElections } from '@/lib/elections/queries'
import { listDuplicates } from '@/lib/people/queries-duplicates'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../../parts/county-nav'
import { OfficePage } from '../../../../parts/office-page'
import { count } from '../../../../parts/words'
import { lookForPairsAction, undoMergeAction } from './actions'
import { Looking } from './looking'

export const metadata = { title: 'Records that may be one person' }

const SAID: Record<string, string> = {
  merged: 'Merged. You can undo it below.',
  undone: 'Undone. Both records are as they were.',
  apart: 'Noted: these are two people. The pair is not shown again.',
}
const AGREE: Record<string, string> = {
  name: 'name',
  familyName: 'last name',
  birthYear: 'birth year',
  email: 'e-mail',
  phone: 'telephone',
  address: 'address',
}

export default async function DuplicatesPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<{ said?: string }>
}) {
  const { county } = await params
  const { said } = await searchParams
  const actor = await requireActor(`/office/${county}/people/duplicates`)
  const elections = await orNotFound(listElections(actor, county))
  const home = await orNotFound(getOfficeCounty(actor, county))
  const { search, pairs, open, merges } = await orNotFound(listDuplicates(actor, county))
  const looking = search !== null && search.finishedAt === null
  const message =
    said === 'looking' && search?.finishedAt
      ? `Looked through ${count(search.people, 'person', 'people')}: ${count(open, 'pair')} to decide.`
      : SAID[said ?? '']
  const when = new Intl.DateTimeFormat('en-US', {
    dateStyle: 'medium',
    timeStyle: 'short',
    timeZone: home.timeZone,
  })
  return (
    <OfficePage
      title="Records that may be one person"
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: home.name },
        { href: `/office/${county}/people`, name: 'People' },
      ]}
    >
      <CountyNav county={county} here="people" electionId={elections[0]?.id ?? null} />
      <div role="status">
        {looking && (
          <Notice kind="info">
            <p>
              Looking through all records. This page shows what is found by itself; you can go on working.
            </p>
            <noscript>Load this page again in a moment.</noscript>
          </Notice>
        )}
        {!looking && message && (
          <Notice kind="good">
            <p>{message}</p>
          </Notice>
        )}
      </div>
      {looking && <Looking />}
      <p className="lead">
        Names that are alike, with a birth year, e-mail, telephone or address in common. Nothing is merged by
        itself: you look at each pair and decide.
      </p>
      <ActionForm action={lookForPairsAction}>
        <input type="hidden" name="countyId" value={county} />
        <p className="row">
          <button type="submit">{search ? 'Look again' : 'Look for pairs'}</button>
          <span className="quiet">
            {search?.finishedAt
              ? `Last looked ${when.format(search.finishedAt)}, among ${count(search.people, 'person', 'people')}.`
              : looking
                ? 'Being looked for.'
                : 'Not looked for yet.'}
          </span>
        </p>
      </ActionForm>
      {pairs.length === 0 ? (
        <Empty>
          <p>
            {search?.finishedAt
              ? 'No pair is open.'
              : looking
                ? 'What is found appears here.'
                : 'Press the button to look through all records.'}
          </p>
        </Empty>
      ) : (
        <TableBox label="Likely pairs">
          <table>
            <caption>
              {count(open, 'open pair')}
              {open > pairs.length && `; the likeliest ${pairs.length} are shown`}
            </caption>
            <thead>
              <tr>
                <th scope="col">One</th>
                <th scope="col">Other</th>
                <th scope="col">In common</th>
                <th scope="col">
                  <abbr title="Jaro–Winkler similarity of the names, 1 is equal">Alike</abbr>
                </th>
                <th scope="col">
                  <span className="only-heard">Look</span>
                </th>
              </tr>
            </thead>
            <tbody>
              {pairs.map(({ first, second, agree, nameSimilarity }) => (
                <tr key={`${first.id} ${second.id}`}>
                  <th scope="row">
                    {first.name}{' '}
                    <span className="quiet">
                      {first.countyRef}
                      {first.birthYear && `, ${first.birthYear}`}
                    </span>
                  </th>
                  <td>
                    {second.name}{' '}
                    <span className="quiet">
                      {second.countyRef}
                      {second.birthYear && `, ${second.birthYear}`}
                    </span>
                  </td>
                  <td>{agree.map((a) => AGREE[a]).join(', ')}</td>
                  <td>{nameSimilarity.toFixed(2)}</td>
                  <td>
                    <a href={`/office/${county}/people/duplicates/${first.id}/${second.id}`}>
                      Compare
                      <span className="only-heard">
                        {' '}
                        {first.name} with {second.name}
                      </span>
                    </a>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </TableBox>
      )}
      {merges.length > 0 && (
        <section aria-labelledby="merges">
          <h2 id="merges">Merged lately</h2>
          <ul className="picks">
            {merges.map((merge) => (
              <li key={merge.id}>
                <div>
                  <a href={`/office/${county}/people/${merge.kept.id}`}>
                    <b>{merge.kept.name}</b>
                  </a>{' '}
                  took over {merge.merged.name} ({merge.merged.countyRef})
                  <br />
                  <span className="small quiet">{when.format(merge.mergedAt)}</span>
                </div>
                {merge.undoneAt ? (
                  <Tag>undone</Tag>
                ) : (
                  <ActionForm action={undoMergeAction}>
                    <input type="hidden" name="countyId" value={county} />
                    <input type="hidden" name="mergeId" value={merge.id} />
                    <button type="submit">
                      Undo<span className="only-heard"> the merge of {merge.merged.name}</span>
                    </button>
                  </ActionForm>
                )}
              </li>
            ))}
          </ul>
        </section>
      )}
    </OfficePage>
  )
}
