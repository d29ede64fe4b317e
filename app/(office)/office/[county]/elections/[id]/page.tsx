import { Empty, Figures, Notice, Tag } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { countEndingBefore } from '@/lib/elections/queries'
import { areaIn } from '@/lib/places/core/area'
import { crewsOverParty } from '@/lib/roster/facts-wishes'
import { type BoardPlace, getBoard } from '@/lib/roster/queries'
import { listChanges } from '@/lib/roster/queries-changes'
import { getCrewFaults, getMissedPairs, getMissedWishes } from '@/lib/roster/queries-crews'
import { getMoving } from '@/lib/roster/queries-move'
import { saidOf } from '@/lib/roster/words'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../../parts/county-nav'
import { OfficePage } from '../../../../parts/office-page'
import { PageTurner } from '../../../../parts/page-turner'
import { SeatBars } from '../../../../parts/seat-bars'
import { SeatMark, STATE_WORDS } from '../../../../parts/seat-mark'
import { count, dateText, daysText } from '../../../../parts/words'
import { ChangeList } from './changes'
import { Crew } from './crew-list'
import { DragSeats } from './drag-seats'
import { type FilterSearch, filterQuery } from './filter'
import { FilterForm } from './filter-form'
import { LiveLine } from './live-line'
import { MissedWishes } from './missed-wishes'
import { MovePanel } from './move-panel'
import { PlaceMap } from './place-map'
import { PlaceLegend, PlacesTable } from './places-table'
import { PublishPanel } from './publish-panel'
import { RenewalNotice } from './renewal-notice'
import { RunPanel } from './run-panel'

export const metadata = { title: 'Roster' }

type Search = FilterSearch & Partial<Record<'said' | 'seen' | 'move' | 'to', string>>

const MOST_FAULTS = 10

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
  const area = areaIn(search.area)
  const board = await orNotFound(
    getBoard(actor, county, id, {
      placeId: search.place || undefined,
      name: search.name,
      positionKey: search.position || undefined,
      show,
      area: area ?? undefined,
      page: Number(search.page) || 1,
    }),
  )
  const { head, positions, places, crews, runs } = board
  const [moving, lately, since, faults, wishes, pairs, ending] = await Promise.all([
    search.move && head.mayChange
      ? getMoving(actor, county, id, search.move, [
          ...crews.flatMap((crew) => crew.seats.map((seat) => seat.id)),
          ...(search.to ? [search.to] : []),
        ])
      : null,
    listChanges(actor, county, id, null),
    search.said === 'stale' && search.seen ? listChanges(actor, county, id, search.seen) : null,
    getCrewFaults(actor, head),
    getMissedWishes(actor, head),
    getMissedPairs(head),
    countEndingBefore(head),
  ])
  const base = `/office/${county}/elections/${id}`
  const seats = places.reduce((sum, p) => sum + p.seats, 0)
  const filled = places.reduce((sum, p) => sum + p.filled, 0)
  const link = (filter: Record<string, string | undefined>, more = '', to = 'crews') => {
    const query = [filterQuery(filter), more].filter(Boolean).join('&')
    return `${base}${query ? `?${query}` : ''}#${to}`
  }
  /** The same page with another filter; who is being moved stays in hand. */
  const linkTo = (change: FilterSearch, to?: string) =>
    link({ ...search, page: undefined, ...change }, moving ? `move=${moving.seat.id}` : '', to)
  const back = filterQuery(search)
  const message = saidOf(search.said)
  const filtered = Boolean(search.place || search.name || search.position || area || show !== 'all')
  const placeHref = (p: BoardPlace) => linkTo({ place: p.id, area: undefined })
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
            {since && <ChangeList changes={since} />}
          </Notice>
        </div>
      )}
      <LiveLine address={`${base}/changes`} mark={head.mark} still={moving !== null} />
      {search.move && !moving && (
        <Notice kind="warn">
          <p>Nobody who could be moved sits in that seat now.</p>
        </Notice>
      )}
      <RenewalNotice
        head={head}
        ending={ending}
        certified={positions.reduce((sum, p) => sum + p.certified, 0)}
        hasList={(runs.done?.outcome?.training.length ?? 0) > 0}
      />
      {board.misplaced > 0 && (
        <Notice kind="bad">
          <p>
            In {count(board.misplaced, 'seat')} somebody sits who may not any more: their certificate does not
            cover the day, they are not available, or your county’s rules keep them from it.{' '}
            <a href={`${base}?show=misplaced#crews`}>Show these seats</a>
          </p>
        </Notice>
      )}
      {faults.length > 0 && (
        <Notice kind={faults.some((fault) => fault.kind === 'students') ? 'bad' : 'warn'}>
          <p id="limits">{count(faults.length, 'crew is', 'crews are')} not as your county’s rules ask:</p>
          <ul>
            {faults.slice(0, MOST_FAULTS).map((fault) => (
              <li key={`${fault.placeId} ${fault.servesOn} ${fault.kind} ${fault.party}`}>
                <a href={`${base}?place=${fault.placeId}#crews`}>
                  {fault.placeCode} {fault.placeName}
                </a>
                {fault.servesOn !== head.heldOn && `, ${dateText(fault.servesOn, 'short')}`}:{' '}
                {fault.kind === 'students'
                  ? `${count(fault.people, 'student')}; at most ${fault.most} may serve together.`
                  : `${fault.people} of party ${fault.party}; at most ${fault.most} of a crew of this size may be of one party.`}
              </li>
            ))}
          </ul>
          {faults.length > MOST_FAULTS && <p>and {faults.length - MOST_FAULTS} more.</p>}
        </Notice>
      )}
      <MissedWishes head={head} crews={wishes} pairs={pairs} base={base} />
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
        {moving && (
          <MovePanel
            moving={moving}
            dropped={search.to ? (moving.options.get(search.to) ?? null) : null}
            cancelHref={link(search, '', `place-${moving.seat.placeCode}`)}
            back={back}
          />
        )}
        <FilterForm
          base={base}
          search={search}
          positions={positions}
          moveSeatId={moving?.seat.id ?? null}
          allHref={filtered ? link({}, moving ? `move=${moving.seat.id}` : '') : null}
        />
        <p className="quiet">
          {count(board.matching, 'place')}
          {filtered && ` of ${places.length.toLocaleString('en-US')}`},{' '}
          {count(places.filter((p) => p.matches && p.filled < p.seats).length, 'place')} with empty seats.
        </p>
        {crews.length === 0 ? (
          <Empty>
            <p>{places.length === 0 ? 'This election has no seats yet.' : 'No place fits this filter.'}</p>
          </Empty>
        ) : (
          <div className="board-top in-step">
            <div>
              <PlacesTable crews={crews} chosenId={search.place} hrefOf={placeHref} />
              <PageTurner
                of="places"
                page={board.page}
                pages={board.pages}
                name="More places, above the list"
                linkTo={(page) => linkTo({ page: String(page) })}
              />
            </div>
            <div className="map-box">
              <PlaceMap
                places={places}
                chosenId={search.place}
                area={area}
                hrefOf={placeHref}
                areaHref={(to) => linkTo({ area: to.join(','), place: undefined })}
              />
              <PlaceLegend />
            </div>
          </div>
        )}
        <ul className="legend">
          {(['filled', 'locked', 'empty', 'halfEmpty', 'misplaced'] as const).map((state) => (
            <li key={state}>
              <SeatMark state={state} /> {STATE_WORDS[state]}
            </li>
          ))}
        </ul>
        <DragSeats href={`${base}${back ? `?${back}` : ''}`}>
          {crews.map(({ place, seats: crew }) => (
            <Crew
              key={place.id}
              place={place}
              seats={crew}
              base={base}
              chosen={place.id === search.place}
              heldOn={head.heldOn}
              moveHref={head.mayChange ? (seatId) => link(search, `move=${seatId}`, 'move') : null}
              moving={moving}
              back={back}
            />
          ))}
        </DragSeats>
        <PageTurner
          of="places"
          page={board.page}
          pages={board.pages}
          name="More places, below the list"
          linkTo={(page) => linkTo({ page: String(page) })}
        />
      </section>
      {lately.changes.length > 0 && (
        <details className="panel">
          <summary>What was changed lately</summary>
          <ChangeList changes={lately} />
        </details>
      )}
      <PublishPanel
        head={head}
        empty={seats - filled}
        overParty={crewsOverParty(faults, wishes)}
        query={back}
      />
    </OfficePage>
  )
}

const RosterTag = ({ roster }: { roster: { version: number; publishedAt: Date | null } | null }) =>
  roster === null ? (
    <Tag kind="warn">no roster yet</Tag>
  ) : roster.publishedAt ? (
    <Tag kind="good">version {roster.version}, published</Tag>
  ) : (
    <Tag kind="warn">version {roster.version}, draft</Tag>
  )
