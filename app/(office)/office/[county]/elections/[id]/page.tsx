import { ActionForm } from '@/app/ui/action-form'
import { Empty, Figures, Notice, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { type BoardPlace, getBoard } from '@/lib/roster/queries'
import { saidOf } from '@/lib/roster/words'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../../parts/county-nav'
import { OfficePage } from '../../../../parts/office-page'
import { SeatBars } from '../../../../parts/seat-bars'
import { SeatMark, STATE_WORDS } from '../../../../parts/seat-mark'
import { count, dateText, daysText } from '../../../../parts/words'
import { publishAction } from './actions'
import { Crew } from './crew-list'
import { PlaceMap } from './place-map'
import { RunPanel } from './run-panel'

export const metadata = { title: 'Roster' }

type Search = Partial<Record<'place' | 'name' | 'position' | 'show' | 'page' | 'said', string>>

export default async function BoardPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; id: string }>
  searchParams: Promise<Search>
}) {
  const { county, id } = await params
  const search = await searchParams
  const actor = await requireActor(`/office/${county}/elections/${id}`)
  const show = search.show === 'empty' || search.show === 'misplaced' ? search.show : 'all'
  const board = await orNotFound(
    getBoard(actor, county, id, {
      placeId: search.place || undefined,
      name: search.name,
      positionKey: search.position || undefined,
      show,
      page: Number(search.page) || 1,
    }),
  )
  const { head, positions, places, crews, runs } = board
  const base = `/office/${county}/elections/${id}`
  const seats = places.reduce((sum, p) => sum + p.seats, 0)
  const filled = places.reduce((sum, p) => sum + p.filled, 0)
  const linkTo = (change: Search) => {
    const kept = { name: search.name, position: search.position, show: search.show, place: search.place }
    const query = new URLSearchParams(
      Object.entries({ ...kept, ...change }).filter((e): e is [string, string] => Boolean(e[1])),
    ).toString()
    return `${base}${query ? `?${query}` : ''}#crews`
  }
  const message = saidOf(search.said)
  const filtered = Boolean(search.place || search.name || search.position || show !== 'all')
  return (
    <OfficePage
      title={head.name}
      crumbs={[
        { href: '/office', name: 'Office' },
        { href: `/office/${county}`, name: head.countyName },
      ]}
    >
      <CountyNav county={county} here="election" electionId={id} />
      <p className="lead">
        {dateText(head.heldOn, 'long')}, {daysText(head.daysToGo)}. <RosterTag roster={head.roster} />
      </p>
      {message && (
        <div role={search.said === 'stale' ? 'alert' : 'status'}>
          <Notice kind={search.said === 'stale' ? 'bad' : 'good'}>
            <p>{message}</p>
          </Notice>
        </div>
      )}
      {board.misplaced > 0 && (
        <Notice kind="bad">
          <p>
            {count(board.misplaced, 'person sits', 'people sit')} where they may not any more: their
            certificate does not cover the day, or they are not available.{' '}
            <a href={`${base}?show=misplaced#crews`}>Show these seats</a>
          </p>
        </Notice>
      )}
      <div className="board-top">
        <section className="panel" aria-labelledby="figures">
          <h2 id="figures">Seats by position</h2>
          <Figures
            items={[
              { name: `of ${seats} seats filled`, value: filled },
              { name: 'seats empty', value: seats - filled },
            ]}
          />
          <SeatBars positions={positions} />
        </section>
        <RunPanel head={head} newest={runs.newest} done={runs.done} empty={seats - filled} />
      </div>
      <section aria-labelledby="crews">
        <h2 id="crews">Places and their crews</h2>
        <div className="board-top">
          <div>
            <search>
              <form className="filter" method="get" action={`${base}#crews`}>
                <div className="field">
                  <label htmlFor="name">Place</label>
                  <input id="name" name="name" type="search" defaultValue={search.name} autoComplete="off" />
                </div>
                <div className="field">
                  <label htmlFor="position">Position</label>
                  <select id="position" name="position" defaultValue={search.position ?? ''}>
                    <option value="">any</option>
                    {positions.map((p) => (
                      <option key={p.key} value={p.key}>
                        {p.name}
                      </option>
                    ))}
                  </select>
                </div>
                <div className="field">
                  <label htmlFor="show">Show</label>
                  <select id="show" name="show" defaultValue={show}>
                    <option value="all">all places</option>
                    <option value="empty">with empty seats</option>
                    <option value="misplaced">with seats not allowed</option>
                  </select>
                </div>
                <div className="row">
                  <button type="submit">Show</button>
                  {filtered && (
                    <a className="button" href={`${base}#crews`}>
                      All places
                    </a>
                  )}
                </div>
              </form>
            </search>
            <ul className="legend">
              {(['filled', 'locked', 'empty', 'misplaced'] as const).map((state) => (
                <li key={state}>
                  <SeatMark state={state} /> {STATE_WORDS[state]}
                </li>
              ))}
            </ul>
            <p className="quiet">
              {count(board.matching, 'place')}
              {filtered && ` of ${places.length}`}, {count(places.filter(isShort).length, 'place')} with empty
              seats. Choose a seat to change it.
            </p>
          </div>
          <PlaceMap
            places={places}
            chosenId={search.place}
            hrefOf={(p) => linkTo({ place: p.id, page: '' })}
          />
        </div>
        {crews.length === 0 && (
          <Empty>
            <p>{places.length === 0 ? 'This election has no seats yet.' : 'No place fits this filter.'}</p>
          </Empty>
        )}
        {crews.map(({ place, seats: crew }) => (
          <Crew
            key={place.id}
            place={place}
            seats={crew}
            base={base}
            chosen={place.id === search.place}
            heldOn={head.heldOn}
          />
        ))}
        {board.pages > 1 && (
          <nav className="row" aria-label="More places">
            {board.page > 1 && (
              <a className="button" href={linkTo({ page: String(board.page - 1) })}>
                ‹ Earlier places
              </a>
            )}
            <span>
              Page {board.page} of {board.pages}
            </span>
            {board.page < board.pages && (
              <a className="button" href={linkTo({ page: String(board.page + 1) })}>
                Later places ›
              </a>
            )}
          </nav>
        )}
      </section>
      <section className="panel" aria-labelledby="publish">
        <h2 id="publish">Publish, print, export</h2>
        {head.mayChange && head.roster && !head.roster.publishedAt && (
          <>
            <p>
              Publishing keeps version {head.roster.version} as it is, for good
              {filled < seats ? ` (with ${count(seats - filled, 'seat')} still empty)` : ''}. Later changes
              start a new draft.
            </p>
            <ActionForm action={publishAction}>
              <input type="hidden" name="electionId" value={id} />
              <input type="hidden" name="countyId" value={county} />
              <input type="hidden" name="expected" value={head.mark} />
              <button type="submit" data-kind="main">
                Publish version {head.roster.version}
              </button>
            </ActionForm>
          </>
        )}
        <p className="row">
          <a className="button" href={`${base}/print`}>
            Crew lists for print
          </a>
          <a className="button" href={`${base}/print?what=county`}>
            County overview for print
          </a>
          <a className="button" href={`${base}/roster.csv`} download>
            Roster as CSV
          </a>
        </p>
      </section>
    </OfficePage>
  )
}

const isShort = (place: BoardPlace) => place.filled < place.seats

const RosterTag = ({ roster }: { roster: { version: number; publishedAt: Date | null } | null }) =>
  roster === null ? (
    <Tag kind="warn">no roster yet</Tag>
  ) : roster.publishedAt ? (
    <Tag kind="good">version {roster.version}, published</Tag>
  ) : (
    <Tag kind="warn">version {roster.version}, draft</Tag>
  )
