import { ActionForm, Field } from '@/app/ui/action-form'
import { Empty, Figures, Notice, TableBox } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import { getOffersPage, type OffersPage, SHOWS, type Show } from '@/lib/offers/queries'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../../../parts/county-nav'
import { OfficePage } from '../../../../../parts/office-page'
import { PageTurner } from '../../../../../parts/page-turner'
import { count, dateText, daysText, dayText } from '../../../../../parts/words'
import { extendAllAction, offerSettingsAction } from './actions'
import { countsText, OfferBar, OfferLegend, OfferPatterns } from './progress-bar'
import { SendPanel } from './send-panel'
import { StateTag } from './state-tag'
import { SAID } from './words'

export const metadata = { title: 'Offers' }

const SHOW_TEXT: Record<Show, string> = {
  waiting: 'without an answer',
  open: 'no answer yet, deadline ahead',
  overdue: 'deadline over, no answer',
  asked: 'ask for another place',
  declined: 'declined',
  accepted: 'accepted',
  returned: 'letter came back',
  withdrawn: 'taken back',
  all: 'all',
}

type Search = Partial<Record<'show' | 'place' | 'at' | 'name' | 'page' | 'places' | 'said', string>>

export default async function OffersOfElection({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; id: string }>
  searchParams: Promise<Search>
}) {
  const { county, id } = await params
  const search = await searchParams
  const actor = await requireActor(`/office/${county}/elections/${id}/offers`)
  // Somebody who is looked for by name is shown however they answered.
  const show = SHOWS.find((s) => s === search.show) ?? (search.name ? 'all' : 'waiting')
  const page = await orNotFound(
    getOffersPage(actor, county, id, {
      show,
      placeId: search.place || undefined,
      at: search.at,
      name: search.name?.slice(0, 100),
      page: Number(search.page) || 1,
      placePage: Number(search.places) || 1,
    }),
  )
  const { head, counts, seats } = page
  const base = `/office/${county}/elections/${id}`
  const made = Object.values(counts).reduce((sum, n) => sum + n, 0)
  const said = SAID[search.said ?? '']
  return (
    <OfficePage
      title="Offers"
      crumbs={[
        { href: `/office/${county}`, name: head.countyName },
        { href: base, name: head.name },
      ]}
    >
      <CountyNav county={county} here="offers" electionId={id} />
      <p className="lead">
        {head.name}, {dateText(head.heldOn, 'long')}, {daysText(head.daysToGo)}. Who was asked, and what they
        said.
      </p>
      {said && (
        <div role="status">
          <Notice kind="good">
            <p>{said}</p>
          </Notice>
        </div>
      )}
      {page.draftWaits && (
        <Notice kind="warn">
          <p>
            The roster has changed since it was published (by answers, or by hand).{' '}
            <a href={base}>Look at the draft and publish it</a>, then send: only who is new is written to.
          </p>
        </Notice>
      )}
      <OfferPatterns />
      <div className="board-top">
        <section className="panel" aria-labelledby="answers">
          <h2 id="answers">Answers</h2>
          {made === 0 ? (
            <Empty>
              <p>Nobody has been asked yet.</p>
            </Empty>
          ) : (
            <>
              <Figures
                items={[
                  { name: `of ${seats} seats accepted`, value: counts.accepted },
                  { name: 'without an answer', value: counts.open + counts.overdue },
                  { name: 'declined', value: counts.declined },
                ]}
              />
              <OfferBar counts={counts} seats={seats} />
              <OfferLegend counts={counts} />
            </>
          )}
        </section>
        <SendPanel page={page} county={county} />
      </div>
      {made > 0 && (
        <section aria-labelledby="people">
          <h2 id="people">People</h2>
          <search>
            <form className="filter" method="get" action={`${base}/offers#people`}>
              <div className="field">
                <label htmlFor="name">Name or number</label>
                <input id="name" name="name" type="search" defaultValue={search.name} autoComplete="off" />
              </div>
              <div className="field">
                <label htmlFor="show">Show</label>
                <select id="show" name="show" defaultValue={show}>
                  {SHOWS.map((s) => (
                    <option key={s} value={s}>
                      {SHOW_TEXT[s]}
                    </option>
                  ))}
                </select>
              </div>
              <div className="field">
                <label htmlFor="at">Place, by name or code</label>
                <input
                  id="at"
                  name="at"
                  type="search"
                  defaultValue={search.at ?? page.chosen ?? ''}
                  autoComplete="off"
                />
              </div>
              <button type="submit">Show</button>
              <a
                className="button"
                href={`${base}/offers/offers.csv?${new URLSearchParams({ show, place: search.place ?? '', at: search.at ?? '', name: search.name ?? '' })}`}
                download
              >
                These as CSV
              </a>
            </form>
          </search>
          <p className="quiet">
            {count(page.matching, 'offer')}
            {page.chosen && ` at ${page.chosen}`}: {SHOW_TEXT[show]}. The longest waiting first.
          </p>
          <OfferTable page={page} base={base} />
          <PageTurner
            name="More offers"
            of="offers"
            page={page.page}
            pages={page.pages}
            linkTo={(to) => {
              const { place = '', at = '', name = '' } = search
              return `${base}/offers?${new URLSearchParams({ show, place, at, name, page: String(to) })}#people`
            }}
          />
        </section>
      )}
      {made > 0 && (
        <section aria-labelledby="places">
          <h2 id="places">By place</h2>
          <ul className="offer-places">
            {page.places.map((p) => (
              <li key={p.id}>
                <a href={`${base}/offers?show=all&place=${p.id}#people`}>
                  {p.code} {p.name}
                </a>
                <OfferBar counts={p.counts} seats={p.seats} />
                <span className="small">{countsText(p.counts, p.seats)}</span>
              </li>
            ))}
          </ul>
          <PageTurner
            name="More places"
            of="places"
            page={page.placePage}
            pages={page.placePages}
            linkTo={(to) => `${base}/offers?places=${to}#places`}
          />
        </section>
      )}
      {head.mayChange && counts.open + counts.overdue > 0 && (
        <ActionForm
          action={extendAllAction}
          fold="Give everybody without an answer more time"
          className="panel"
        >
          <input type="hidden" name="electionId" value={id} />
          <input type="hidden" name="countyId" value={county} />
          <Field
            name="answerBy"
            label="New last day for an answer"
            type="date"
            min={head.today}
            max={head.heldOn}
            defaultValue={page.suggestedAnswerBy}
            hint="Only deadlines before this day move. Nobody is written to."
          />
          <button type="submit">
            Give {count(counts.open + counts.overdue, 'person', 'people')} more time
          </button>
        </ActionForm>
      )}
      {head.mayChange && <Settings page={page} county={county} />}
    </OfficePage>
  )
}

const OfferTable = ({ page, base }: { page: OffersPage; base: string }) =>
  page.lines.length === 0 ? (
    <Empty>
      <p>No offer is like this.</p>
    </Empty>
  ) : (
    <TableBox label="Offers">
      <table>
        <thead>
          <tr>
            <th scope="col">Person</th>
            <th scope="col">Work</th>
            <th scope="col">Answer</th>
            <th scope="col">By</th>
            <th scope="col">Calls</th>
          </tr>
        </thead>
        <tbody>
          {page.lines.map((o) => (
            <tr key={o.id}>
              <th scope="row">
                <a href={`${base}/offers/${o.id}`}>{o.person}</a>
                {o.phone && <div className="small quiet">{o.phone}</div>}
              </th>
              <td>
                {o.position}, {o.place}
                {o.servesOn !== page.head.heldOn && (
                  <div className="small quiet">{dayText(o.servesOn, page.head.today)}</div>
                )}
                {o.shift !== 'full' && <div className="small quiet">{SHIFT_WORDS[o.shift]}</div>}
              </td>
              <td>
                <StateTag state={o.state} />
                {o.letterReturned && <div className="small">letter came back</div>}
              </td>
              <td className="one-line">{dayText(o.answerBy, page.head.today)}</td>
              <td>{o.calls}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </TableBox>
  )

const Settings = ({ page, county }: { page: OffersPage; county: string }) => (
  <ActionForm action={offerSettingsAction} fold="What offers say: telephone, hours of work" className="panel">
    <input type="hidden" name="countyId" value={county} />
    <Field
      name="officePhone"
      label="Telephone of the election office"
      type="tel"
      defaultValue={page.settings.officePhone}
    />
    <Field
      name="officeHours"
      label="When somebody answers"
      hint="For example: Monday to Friday, 8 to 5"
      defaultValue={page.settings.officeHours}
    />
    <Field
      name="arriveBefore"
      label="Minutes that people arrive before the doors open"
      inputMode="numeric"
      defaultValue={String(page.settings.arriveBefore)}
    />
    <Field
      name="leaveAfter"
      label="Minutes that people stay after the doors close"
      inputMode="numeric"
      defaultValue={String(page.settings.leaveAfter)}
    />
    <Field
      name="changeAt"
      label="When the afternoon’s people take over"
      type="time"
      defaultValue={page.settings.changeAt}
    />
    <button type="submit">Save</button>
  </ActionForm>
)
