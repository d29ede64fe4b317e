import { ActionForm, Choice, Field } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import { requireActor } from '@/lib/auth/session'
import type { OfferState } from '@/lib/offers/core/status'
import { getOfferPage, type OfferPage } from '@/lib/offers/queries-offer'
import { CALL_OUTCOMES, DECLINE_REASONS } from '@/lib/offers/schema'
import { SHIFT_WORDS } from '@/lib/roster/words'
import { orNotFound } from '@/lib/web/or-not-found'
import { CountyNav } from '../../../../../../parts/county-nav'
import { OfficePage } from '../../../../../../parts/office-page'
import { count, dateText, dayText } from '../../../../../../parts/words'
import { StateTag } from '../state-tag'
import { CALL_TEXT, EVENT_TEXT, REASON_TEXT, SAID, VIA_TEXT } from '../words'
import {
  extendOfferAction,
  letterReturnedAction,
  logCallAction,
  recordAnswerAction,
  withdrawOfferAction,
} from './actions'
import { ReplacementPanel } from './replacements'

export const metadata = { title: 'An offer' }

/** Somebody waits for an answer, or for a talk: the form for it stands open. */
const WAITING = new Set<OfferState>(['open', 'overdue', 'asked'])

export default async function OneOffer({
  params,
  searchParams,
}: {
  params: Promise<{ county: string; id: string; offer: string }>
  searchParams: Promise<{ said?: string }>
}) {
  const { county, id, offer: offerId } = await params
  const { said } = await searchParams
  const actor = await requireActor(`/office/${county}/elections/${id}/offers/${offerId}`)
  const page = await orNotFound(getOfferPage(actor, county, id, offerId))
  const { head, person, seat, standing, may } = page
  const base = `/office/${county}/elections/${id}`
  const message = SAID[said ?? '']
  const hidden = (
    <>
      <input type="hidden" name="countyId" value={county} />
      <input type="hidden" name="electionId" value={id} />
      <input type="hidden" name="offerId" value={offerId} />
    </>
  )
  return (
    <OfficePage
      title={person.name}
      crumbs={[
        { href: `/office/${county}`, name: head.countyName },
        { href: base, name: head.name },
        { href: `${base}/offers`, name: 'Offers' },
      ]}
    >
      <CountyNav county={county} here="offers" electionId={id} />
      {message && (
        <div role="status">
          <Notice kind="good">
            <p>
              {message} {said === 'replaced' && <a href={`${base}#publish`}>To the draft</a>}
            </p>
          </Notice>
        </div>
      )}
      <section className="panel" aria-labelledby="what">
        <h2 id="what">
          {seat.position}, {seat.place}
        </h2>
        <p>
          {dateText(seat.servesOn, 'long')}, {SHIFT_WORDS[seat.shift]}. <StateTag state={standing.state} />{' '}
          Answer by {dateText(standing.answerBy, 'long')}.
        </p>
        <dl className="pairs">
          <dt>Telephone</dt>
          <dd>{person.phone ? <a href={`tel:${person.phone}`}>{person.phone}</a> : 'none known'}</dd>
          <dt>E-mail</dt>
          <dd>{person.email ?? 'none known: a letter'}</dd>
          <dt>Language</dt>
          <dd>{page.language === 'es' ? 'Spanish' : 'English'}</dd>
        </dl>
        <p className="row">
          <a className="button" href={`/office/${county}/people/${person.id}`}>
            {person.name}’s page
          </a>
          <a className="button" href={`${base}/seats/${seat.id}`}>
            The seat on the roster
          </a>
          <a className="button" href={`${base}/offers/letters.pdf?offer=${offerId}`}>
            Letter (PDF)
          </a>
        </p>
      </section>
      {standing.state === 'asked' && (
        <Notice kind="warn">
          <p>
            {person.name} would rather work elsewhere. Talk it over by telephone: write down a yes or a no
            below, or take the offer back and{' '}
            <a href={`${base}?move=${seat.id}#move`}>find them another seat on the roster</a>.
          </p>
        </Notice>
      )}
      {page.nowSeated && (standing.state === 'declined' || standing.state === 'withdrawn') && (
        <Notice kind="good">
          <p>{page.nowSeated.name} has this seat now.</p>
        </Notice>
      )}
      {page.replacements && (
        <ReplacementPanel
          found={page.replacements}
          mayReplace={may.replace}
          county={county}
          base={base}
          seatId={seat.id}
          hidden={hidden}
          answerBy={page.suggestedAnswerBy}
          heldOn={head.heldOn}
          today={head.today}
        />
      )}
      <div className="board-top">
        <section className="panel" aria-labelledby="history">
          <h2 id="history">What happened</h2>
          <ol className="timeline">
            {page.events.map((event, i) => (
              <li key={i}>
                <EventLine event={event} timeZone={page.timeZone} today={page.head.today} />
              </li>
            ))}
          </ol>
        </section>
        <div>
          {(may.accept || may.decline) && (
            <details className="panel" open={WAITING.has(standing.state)}>
              <summary>Write down an answer</summary>
              <ActionForm action={recordAnswerAction}>
                {hidden}
                <Choice
                  name="answer"
                  label="The answer"
                  options={[
                    ['', 'choose…'],
                    ...(may.accept ? [['accepted', 'yes'] as [string, string]] : []),
                    ...(may.decline ? [['declined', 'no'] as [string, string]] : []),
                    ...(may.ask ? [['askedElsewhere', 'another place, please'] as [string, string]] : []),
                  ]}
                />
                <Choice
                  name="reason"
                  label="Why, if it is a no"
                  options={[
                    ['', 'not said'],
                    ...DECLINE_REASONS.map((r): [string, string] => [r, REASON_TEXT[r]]),
                  ]}
                />
                <Choice
                  name="via"
                  label="How they told us"
                  options={[
                    ['phone', 'by telephone'],
                    ['paper', 'on paper'],
                  ]}
                />
                <Field name="note" label="Note" autoComplete="off" />
                <button type="submit">Write down the answer</button>
              </ActionForm>
            </details>
          )}
          {may.call && (
            <section className="panel" aria-labelledby="call">
              <h2 id="call">Write down a call</h2>
              <ActionForm action={logCallAction}>
                {hidden}
                <Choice
                  name="outcome"
                  label="How it went"
                  options={CALL_OUTCOMES.map((o) => [o, CALL_TEXT[o]])}
                  defaultValue="noAnswer"
                />
                <Field name="note" label="Note" hint="Nothing about health or party." autoComplete="off" />
                <button type="submit">Write down the call</button>
              </ActionForm>
            </section>
          )}
          {may.markReturned && (
            <section className="panel" aria-labelledby="returned">
              <h2 id="returned">The letter</h2>
              <ActionForm action={letterReturnedAction}>
                {hidden}
                <button type="submit">The letter came back</button>
              </ActionForm>
            </section>
          )}
          {may.extend && (
            <ActionForm action={extendOfferAction} fold="More time" className="panel">
              {hidden}
              <Field
                name="answerBy"
                label="New last day for an answer"
                type="date"
                min={head.today}
                max={head.heldOn}
                defaultValue={page.suggestedAnswerBy}
              />
              <button type="submit">Give more time</button>
            </ActionForm>
          )}
          {may.withdraw && (
            <details className="panel">
              <summary>
                {standing.state === 'declined' ? 'They changed their mind' : 'Take the offer back'}
              </summary>
              <p>
                {standing.state === 'declined'
                  ? 'The no is taken back: the person may be given a seat on that day again.'
                  : 'The seat is emptied in the draft, and the person is told by e-mail where there is one.'}
              </p>
              <ActionForm action={withdrawOfferAction}>
                {hidden}
                <Field name="note" label="Why (for the office)" autoComplete="off" />
                <button type="submit" data-kind={standing.state === 'declined' ? undefined : 'bad'}>
                  {standing.state === 'declined' ? 'Take the no back' : 'Take the offer back'}
                </button>
              </ActionForm>
            </details>
          )}
          <p className="small quiet">{count(standing.calls, 'call')} since the seat was offered.</p>
        </div>
      </div>
    </OfficePage>
  )
}

function EventLine({
  event,
  timeZone,
  today,
}: {
  event: OfferPage['events'][number]
  timeZone: string
  today: string
}) {
  const why =
    event.kind === 'declined'
      ? REASON_TEXT[event.reason as keyof typeof REASON_TEXT]
      : event.kind === 'called'
        ? CALL_TEXT[event.reason as keyof typeof CALL_TEXT]
        : null
  return (
    <>
      <time dateTime={event.at.toISOString()}>
        {event.at.toLocaleString('en-US', { dateStyle: 'medium', timeStyle: 'short', timeZone })}
      </time>{' '}
      <b>{EVENT_TEXT[event.kind]}</b>
      {event.kind !== 'called' && event.kind !== 'returned' && ` ${VIA_TEXT[event.via]}`}
      {why && `: ${why}`}
      {event.answerBy && `, answer by ${dayText(event.answerBy, today)}`}
      {event.by && <span className="quiet"> ({event.by})</span>}
      {event.note && (
        <>
          <br />
          <q>{event.note}</q>
        </>
      )}
    </>
  )
}
