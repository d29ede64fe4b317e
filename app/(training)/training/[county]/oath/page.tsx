import { dateText } from '@/app/(office)/parts/words'
import { ActionForm, Field, Tick } from '@/app/ui/action-form'
import { Empty, Figures, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getOathView } from '@/lib/classes/queries-oath'
import { orNotFound } from '@/lib/web/or-not-found'
import { TrainingPage } from '../../../parts/training-page'
import { recordOathAction, revokeOathAction } from './actions'

export const metadata = { title: 'Oath' }

type Search = Record<'election' | 'search' | 'page', string | undefined>

export default async function OathPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<Search>
}) {
  const [{ county: countyId }, { election, search = '', page: pageText = '0' }] = await Promise.all([
    params,
    searchParams,
  ])
  const actor = await requireActor(`/training/${countyId}/oath`)
  const page = Math.max(0, Math.min(5000, Number.parseInt(pageText, 10) || 0))
  const view = await orNotFound(
    getOathView(actor, countyId, { electionId: election, search: search.slice(0, 100), page }),
  )
  const link = (to: number) =>
    `?election=${view.election?.id ?? ''}&search=${encodeURIComponent(search)}&page=${to}`
  const open = view.rows.filter((row) => !row.oath)
  const sworn = view.rows.filter((row) => row.oath)
  return (
    <TrainingPage title="Oath" here="oath" county={view.county}>
      {!view.election ? (
        <Empty>
          <p>This county has no election yet. An oath is recorded for one.</p>
        </Empty>
      ) : (
        <>
          <p className="lead">
            {view.election.name}, {dateText(view.election.heldOn)}: who has sworn the oath, and before whom.
          </p>
          <Figures
            items={[
              { name: 'have a seat', value: view.seated },
              { name: 'of them have sworn', value: view.sworn },
            ]}
          />
          <search>
            <form className="row at-end" method="get">
              <div className="field">
                <label htmlFor="election">Election</label>
                <select id="election" name="election" defaultValue={view.election.id}>
                  {view.elections.map((e) => (
                    <option key={e.id} value={e.id}>
                      {e.name}, {dateText(e.heldOn)}
                    </option>
                  ))}
                </select>
              </div>
              <div className="field">
                <label htmlFor="search">Name or county number</label>
                <input id="search" name="search" defaultValue={search} autoComplete="off" />
              </div>
              <button type="submit">Show</button>
            </form>
          </search>
          <section aria-labelledby="open">
            <h2 id="open">Record an oath</h2>
            {open.length === 0 ? (
              <Empty>
                <p>
                  {search
                    ? 'Nobody without an oath fits this search.'
                    : 'Everybody shown here has sworn for this election.'}
                </p>
              </Empty>
            ) : (
              <ActionForm action={recordOathAction}>
                <input type="hidden" name="countyId" value={view.county.id} />
                <input type="hidden" name="electionId" value={view.election.id} />
                <p>
                  Record it from the signed paper. Who may administer the oath, and when, is set by your
                  state’s law.
                </p>
                <Field
                  name="administeredBy"
                  label="Administered by"
                  hint="Name and office, as on the paper: “Dana Reyes, deputy clerk”."
                  autoComplete="off"
                />
                <Field name="on" label="Day" type="date" defaultValue={view.today} max={view.today} />
                <fieldset>
                  <legend>Who swore?</legend>
                  <div className="names">
                    {open.map((row) => (
                      <label className="choice" key={row.workerId}>
                        <Tick name="workerIds[]" value={row.workerId} />
                        <span>
                          {row.name} <span className="quiet small">{row.countyRef}</span>
                          {row.seated && <span className="quiet small"> · has a seat</span>}
                        </span>
                      </label>
                    ))}
                  </div>
                </fieldset>
                <button type="submit" data-kind="main">
                  Record the oath
                </button>
              </ActionForm>
            )}
          </section>
          {sworn.length > 0 && (
            <section aria-labelledby="sworn">
              <h2 id="sworn">On record</h2>
              {sworn.map((row) => (
                <div className="panel" key={row.workerId}>
                  <p>
                    <strong>{row.name}</strong> <Tag kind="good">✓ {row.oath!.on}</Tag>{' '}
                    {row.oath!.administeredBy
                      ? `before ${row.oath!.administeredBy}`
                      : 'by whom is not on record'}
                  </p>
                  <details className="more">
                    <summary>
                      Take this back<span className="only-heard">, {row.name}</span>
                    </summary>
                    <ActionForm action={revokeOathAction}>
                      <input type="hidden" name="factId" value={row.oath!.factId} />
                      <div className="field">
                        <label htmlFor={`reason-${row.workerId}`}>Why? (kept in the record)</label>
                        <input id={`reason-${row.workerId}`} name="reason" />
                      </div>
                      <button type="submit" data-kind="bad">
                        It no longer counts
                      </button>
                    </ActionForm>
                  </details>
                </div>
              ))}
            </section>
          )}
          <nav className="row list-pages" aria-label="Pages of the list">
            {page > 0 && (
              <a className="button" href={link(page - 1)}>
                Before
              </a>
            )}
            {view.more && (
              <a className="button" href={link(page + 1)}>
                More names
              </a>
            )}
          </nav>
        </>
      )}
    </TrainingPage>
  )
}
