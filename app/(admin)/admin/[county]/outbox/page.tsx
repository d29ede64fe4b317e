import { ActionForm } from '@/app/ui/action-form'
import { Empty, Notice, Tag } from '@/app/ui/notice'
import { getOffice } from '@/lib/auth/queries'
import { requireActor } from '@/lib/auth/session'
import { env } from '@/lib/env'
import { listOutbox, OUTBOX_PAGE } from '@/lib/notices/queries'
import { orNotFound } from '@/lib/web/or-not-found'
import { AdminPage } from '../../../parts/admin-page'
import { Instant } from '../../../parts/instant'
import { countyIdOf } from '../../../parts/office'
import { sendAgainAction } from './actions'

export const metadata = { title: 'Outbox' }

const STATES = {
  waiting: ['waiting', 'info'],
  sending: ['being sent', 'info'],
  sent: ['sent', 'good'],
  failed: ['✕ not sent', 'bad'],
  uncertain: ['? it isn’t known whether it arrived', 'warn'],
  'shown-only': ['only shown here: no mail server was set', 'info'],
} as const

export default async function OutboxPage({
  params,
  searchParams,
}: {
  params: Promise<{ county: string }>
  searchParams: Promise<{ before?: string | string[] }>
}) {
  const [{ county }, query] = await Promise.all([params, searchParams])
  const countyId = countyIdOf(county)
  const actor = await requireActor(`/admin/${county}/outbox`)
  const [office, messages] = await Promise.all([
    orNotFound(getOffice(actor, countyId)),
    orNotFound(listOutbox(actor, countyId, typeof query.before === 'string' ? query.before : undefined)),
  ])
  return (
    <AdminPage actor={actor} countyId={countyId} office={office.name} title="Outbox" here="outbox">
      {!env().SMTP_URL && (
        <Notice>
          <p>
            No mail server is set (SMTP_URL), so nothing is sent: each message can be read here, with sign-in
            codes and the links by which people answer offers. With a mail server neither is shown.
          </p>
        </Notice>
      )}
      {messages.length === 0 ? (
        <Empty>
          <p>No message yet. Sign-in codes and notices will appear here.</p>
        </Empty>
      ) : (
        messages.map((message) => (
          <article className="panel" key={message.id} aria-labelledby={`message-${message.id}`}>
            <h2 id={`message-${message.id}`}>{message.subject}</h2>
            <p>
              To {message.toAddress}, <Instant at={message.createdAt} timeZone={office.timeZone} />{' '}
              <Tag kind={STATES[message.state][1]}>{STATES[message.state][0]}</Tag>
            </p>
            {message.lastError && (
              <p>
                After {message.attempts} {message.attempts === 1 ? 'try' : 'tries'}: {message.lastError}
              </p>
            )}
            {message.maySendAgain && (
              <ActionForm action={sendAgainAction}>
                <input type="hidden" name="county" value={county} />
                <input type="hidden" name="messageId" value={message.id} />
                <p>
                  {message.state === 'uncertain'
                    ? 'It is not sent again by itself, so that nobody is written to twice. Ask the person, or send it again: they may then have it twice.'
                    : 'It is not sent by itself now that a mail server is set. Send it if it still holds.'}
                </p>
                <button type="submit">
                  {message.state === 'uncertain' ? 'Send it again' : 'Send it now'}
                  <span className="only-heard">: {message.subject}</span>
                </button>
              </ActionForm>
            )}
            {message.body === null ? (
              <p className="quiet">The text holds a code and is not shown.</p>
            ) : (
              <pre className="message-body">{message.body}</pre>
            )}
          </article>
        ))
      )}
      {messages.length === OUTBOX_PAGE && (
        <p>
          <a href={`?before=${messages.at(-1)!.id}`}>Older messages</a>
        </p>
      )}
    </AdminPage>
  )
}
