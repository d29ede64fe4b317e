import { ActionForm } from '@/app/ui/action-form'
import { Empty, Notice } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { listChanges } from '@/lib/roster/queries-changes'
import { getSeatPage, type SeatPage as SeatView } from '@/lib/roster/queries-seat'
import { SHIFT_WORDS, saidOf, travelChangeText } from '@/lib/roster/words'
import { orNotFound } from '@/lib/web/or-not-found'
import { OfficePage } from '../../../../../../parts/office-page'
import { SeatMark, STATE_WORDS } from '../../../../../../parts/seat-mark'
import { dateText } from '../../../../../../parts/words'
import { ChangeList } from '../../changes'
import { LiveLine } from '../../live-line'
import { emptyAction, lockAction, swapAction } from './actions'
import { Against, HiddenIds, People } from './picker'

export const metadata = { title: 'A seat' }

export default async function SeatPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; id: string; seat: string }>
  searchParams: Promise<{ said?: string; seen?: string; name?: string }>
}) {
  const { county, id, seat: seatId } = await params
  const { said, seen, name = '' } = await searchParams
  const actor = await requireActor(`/office/${county}/elections/${id}/seats/${seatId}`)
  const page = await orNotFound(getSeatPage(actor, county, id, seatId, name))
  const { head, seat, place } = page
  const changes = said === 'stale' && seen ? await listChanges(actor, county, id, seen) : null
  const base = `/office/${county}/elections/${id}`
  const ids = { countyId: county, electionId: id, seatId, expected: head.mark }
  const message = saidOf(said)
  const half = seat.isHalf ? `, ${SHIFT_WORDS[seat.shift]}` : ''
  const title = `${seat.positionName}${seat.number > 1 ? ` ${seat.number}` : ''}${half}, ${place.name}`
  return (
    <OfficePage
      title={title}
      crumbs={[
        { href: `/office/${county}`, name: head.countyName },
        { href: base, name: head.name },
        { href: `${base}?place=${place.id}#place-${place.code}`, name: `${place.code} ${place.name}` },
      ]}
    >
      {message && (
        <div role={said === 'stale' ? 'alert' : 'status'}>
          <Notice kind={said === 'stale' ? 'bad' : 'good'}>
            <p>{message}</p>
            {changes && <ChangeList changes={changes} />}
          </Notice>
        </div>
      )}
      <LiveLine address={`${base}/changes`} mark={head.mark} still />
      <section className="panel" aria-labelledby="now">
        <h2 id="now">
          <SeatMark state={seat.state} />{' '}
          {seat.person?.name ?? (seat.isHalf ? `Nobody in the ${seat.shift}` : 'Empty seat')}
        </h2>
        <p>
          {dateText(seat.servesOn, 'long')}, {SHIFT_WORDS[seat.shift]}; {place.address}; this seat is{' '}
          <b>{STATE_WORDS[seat.state]}</b>.{seat.legalMinimum && ' It belongs to the legal minimum crew.'}
        </p>
        {seat.state === 'misplaced' && (
          <Notice kind="bad">
            <p>
              {seat.person?.name} may not sit here any more: the certificate does not cover the day, they are
              not available, or your county’s rules keep them from it. Empty the seat or put somebody else in.
            </p>
          </Notice>
        )}
        {seat.reason && (
          <Notice kind="warn">
            <p>{seat.reason}</p>
          </Notice>
        )}
        <OtherPart page={page} base={base} />
        {head.roster?.publishedAt && head.mayChange && (
          <p className="quiet">
            Version {head.roster.version} is published. A change here starts a new draft.
          </p>
        )}
        {head.mayChange && seat.person && (
          <div className="row">
            <ActionForm action={lockAction}>
              <HiddenIds ids={ids} />
              <input type="hidden" name="locked" value={seat.state === 'locked' ? 'no' : 'yes'} />
              <button type="submit">{seat.state === 'locked' ? 'Unlock' : 'Lock'}</button>
            </ActionForm>
            {seat.state !== 'locked' && (
              <ActionForm action={emptyAction}>
                <HiddenIds ids={ids} />
                <button type="submit" data-kind="bad">
                  {seat.isHalf ? `Empty the ${seat.shift}` : 'Empty the seat'}
                </button>
              </ActionForm>
            )}
            <a className="button" href={`/office/${county}/people/${seat.person.id}`}>
              {seat.person.name}
            </a>
          </div>
        )}
      </section>
      {page.swaps.length > 0 && (
        <details className="panel">
          <summary>Change seats with somebody ({page.swaps.length})</summary>
          <ul className="picks">
            {page.swaps.map((swap) => (
              <li key={swap.seatId}>
                <div>
                  <b>{swap.person}</b>, {swap.text}
                  <br />
                  <span className="small">{travelChangeText(swap.changeKm)}</span>
                  <Against of={swap} />
                </div>
                {head.mayChange && (
                  <ActionForm action={swapAction}>
                    <HiddenIds ids={ids} />
                    <input type="hidden" name="otherSeatId" value={swap.seatId} />
                    <button type="submit" aria-label={`Change seats with ${swap.person}`}>
                      Change seats
                    </button>
                  </ActionForm>
                )}
              </li>
            ))}
          </ul>
        </details>
      )}
      <section className="panel" aria-labelledby="who">
        <h2 id="who">Who could sit here</h2>
        <ol className="sieve">
          {page.sieve.map((step, i) => (
            <li key={step.text}>
              {i === 0 ? '' : 'of these, '}
              <b>{step.people.toLocaleString('en-US')}</b> {step.text}
            </li>
          ))}
        </ol>
        <search>
          <form className="filter" method="get">
            <div className="field">
              <label htmlFor="name">Look for a person</label>
              <input id="name" name="name" type="search" defaultValue={name} autoComplete="off" />
            </div>
            <button type="submit">Look</button>
          </form>
        </search>
        {page.found && (
          <>
            <h3>Found by name</h3>
            {page.found.length === 0 && <p>Nobody has a name or number that begins like this.</p>}
            <People people={page.found} ids={ids} mayChange={head.mayChange} />
          </>
        )}
        <h3>May sit here, nearest first</h3>
        {page.candidates.length === 0 ? (
          <Empty>
            <p>
              Nobody else may sit here now. <a href={`${base}/training`}>See whom to train next</a>.
            </p>
          </Empty>
        ) : (
          <People people={page.candidates} ids={ids} mayChange={head.mayChange && seat.state !== 'locked'} />
        )}
        {page.more > 0 && (
          <p className="quiet">
            {page.more.toLocaleString('en-US')} more may sit here, further away or with another seat. Look for
            a person by name above.
          </p>
        )}
      </section>
    </OfficePage>
  )
}

/** The other half of a shared seat; of an empty whole-day seat, the way to fill it with two people. */
function OtherPart({ page: { head, seat, otherHalf }, base }: { page: SeatView; base: string }) {
  const href = (id: string) => `${base}/seats/${id}`
  if (otherHalf)
    return (
      <p>
        <SeatMark state={otherHalf.state} /> In the {otherHalf.shift}:{' '}
        <a href={href(otherHalf.id)}>{otherHalf.person?.name ?? STATE_WORDS[otherHalf.state]}</a>
      </p>
    )
  if (seat.isHalf)
    return (
      <p>
        This is half of a seat for the whole day. <a href={href(seat.seatId)}>Fill the whole day</a> instead.
      </p>
    )
  if (seat.shift !== 'full' || seat.person || !head.mayChange) return null
  return (
    <p>
      Two people may share this seat: <a href={href(`${seat.seatId}.morning`)}>fill the morning</a> or{' '}
      <a href={href(`${seat.seatId}.afternoon`)}>fill the afternoon</a>.
    </p>
  )
}
