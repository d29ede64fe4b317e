import { ActionForm, Field } from '@/app/ui/action-form'
import { Notice } from '@/app/ui/notice'
import type { OffersPage } from '@/lib/offers/queries'
import { count, dayText } from '../../../../../parts/words'
import { sendOffersAction, stopSendingAction } from './actions'
import { Letters } from './letters'
import { SendingProgress } from './sending-progress'

/** The button that writes to everybody without an offer, its progress, and the letters of what was sent. */
export function SendPanel({ page, county }: { page: OffersPage; county: string }) {
  const { head, toSend, sendings } = page
  const base = `/office/${county}/elections/${head.id}`
  const ids = (
    <>
      <input type="hidden" name="electionId" value={head.id} />
      <input type="hidden" name="countyId" value={county} />
    </>
  )
  const [newest] = sendings
  const running = newest?.status === 'running'
  return (
    <section className="panel" aria-labelledby="send">
      <h2 id="send">Send</h2>
      {newest?.status === 'silent' && (
        <Notice kind="warn">
          <p>
            The last sending was cut off. What was sent stays sent; send again, and it goes on where it
            stopped.
          </p>
        </Notice>
      )}
      {running && (
        <>
          <SendingProgress address={`${base}/offers/progress`} start={newest} />
          <ActionForm action={stopSendingAction}>
            {ids}
            <button type="submit" data-kind="bad">
              Stop the sending
            </button>
          </ActionForm>
        </>
      )}
      {!running && !toSend && (
        <Notice kind="info">
          <p>
            No roster of this election is published yet. <a href={`${base}#publish`}>Publish it</a>, then
            people can be asked.
          </p>
        </Notice>
      )}
      {!running && toSend && toSend.people + toSend.stray === 0 && (
        <p>Everybody on the published roster has been asked. Nobody is written to twice for the same seat.</p>
      )}
      {!running && toSend && toSend.people + toSend.stray > 0 && head.mayChange && (
        <ActionForm action={sendOffersAction}>
          {ids}
          <p>
            <b>{count(toSend.people, 'person', 'people')}</b> on the published roster{' '}
            {toSend.people === 1 ? 'was' : 'were'} not asked yet:{' '}
            {count(toSend.people - toSend.letters, 'e-mail')}, {count(toSend.letters, 'letter')} to print.
            Each in the person’s language.
            {toSend.stray > 0 &&
              ` ${count(toSend.stray, 'offer')} of seats that the roster gives to others by now ${toSend.stray === 1 ? 'is' : 'are'} taken back.`}
          </p>
          <Field
            name="answerBy"
            label="Last day for an answer"
            type="date"
            min={head.today}
            max={head.heldOn}
            defaultValue={page.suggestedAnswerBy}
            hint="Who hasn’t answered two days before is reminded once, by e-mail."
          />
          <button type="submit" data-kind="main">
            {toSend.people > 0 ? `Ask ${count(toSend.people, 'person', 'people')}` : 'Take back'}
          </button>
        </ActionForm>
      )}
      {sendings.some((s) => s.status !== 'running') && (
        <>
          <h3>Sent before</h3>
          <ul>
            {sendings
              .filter((s) => s.status !== 'running')
              .map((s) => (
                <li key={s.id}>
                  {s.createdAt.toLocaleDateString('en-US', { dateStyle: 'medium', timeZone: page.timeZone })}:{' '}
                  {s.done} of {count(s.people, 'person', 'people')}, answer by{' '}
                  {dayText(s.answerBy, head.today)}
                  {s.status === 'stopped' && ' (stopped)'}
                  {s.letters > 0 && <Letters sending={s} base={base} ids={ids} />}
                </li>
              ))}
          </ul>
        </>
      )}
    </section>
  )
}
