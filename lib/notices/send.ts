import { createTransport, type Transporter } from 'nodemailer'
import { db } from '@/lib/db/client'
import { env } from '@/lib/env'
import { systemClock } from '@/lib/kernel/clock'
import type { Prisma } from '@/prisma/client/client'
import { quietHoursOf, quietUntil } from './core/quiet-hours'
import { enqueueSending } from './queue'
import { SECRET_KINDS, WAITING_KINDS } from './templates'

/** What became of a message. `left-alone`: already sent, refused, or in somebody else's hands. */
export type SendOutcome =
  | { status: 'sent' }
  | { status: 'left-alone' }
  | { status: 'shown-in-outbox' }
  | { status: 'refused'; reason: string }
  | { status: 'unknown'; reason: string }
  /** It is quiet time in the county: the queue sends it after that. */
  | { status: 'postponed'; until: Date }

/** A try under way for longer has lost its process: the mail server's own time limits are far below. */
export const SENDING_ENDS_AFTER_MS = 15 * 60_000
const BLANKED = '(The code was sent and is not kept.)'

/** Why a message was only shown: marks it for good, whatever is set later. */
export const NO_SERVER = 'No mail server was set.'
const LOST = 'The process that sent it ended before it could write down the mail server’s answer.'

/** Message ids whose text was asked for by a connection. */
const onTheWay = new Set<string>()

let kept: { url: string; transport: Transporter } | undefined

function transportTo(url: string): Transporter {
  if (kept?.url !== url) {
    kept?.transport.close()
    const limits = { connectionTimeout: 10_000, greetingTimeout: 10_000, socketTimeout: 30_000 }
    const transport = createTransport({ url, ...limits })
    // The text is asked for once the server is connected and greeted.
    transport.use('stream', (mail, done) => {
      const make = mail.message.createReadStream.bind(mail.message)
      mail.message.createReadStream = (options) => {
        onTheWay.add(String(mail.data.messageId))
        return make(options)
      }
      done()
    })
    kept = { url, transport }
  }
  return kept.transport
}

interface MailError extends Error {
  responseCode?: number
}

/** Whether a failure leaves open that the message arrived: its text may have been on the way, and no answer came.
 *  (nodemailer reports a connection that is cut after the text like one that is cut before it.) */
const mayHaveArrived = (error: MailError, messageId: string): boolean =>
  error.responseCode === undefined && onTheWay.has(messageId)
/** SMTP answers of 500 and more are final; 400 to 499, and no connection, are worth another try (RFC 5321, 4.2.1). */
const isFinal = (error: MailError): boolean => (error.responseCode ?? 0) >= 500

/** The end of the county's quiet time, for a message that can wait; null: send it. */
async function quietTimeOf(id: string): Promise<Date | null> {
  const message = await db().outboxMessage.findUnique({
    where: { id },
    select: { kind: true, countyId: true, sentAt: true, failedAt: true },
  })
  if (!message?.countyId || message.sentAt || message.failedAt || !WAITING_KINDS.has(message.kind))
    return null
  const county = await db().county.findUnique({
    where: { id: message.countyId },
    select: { timeZone: true, settings: true },
  })
  return county && quietUntil(quietHoursOf(county.settings), systemClock.now(), county.timeZone)
}

/** Sends one message of the outbox, at most once: mail can't be sent exactly once, and a second offer or code does more
 *  harm than a message that staff see as uncertain. The message is claimed in the database first; one whose fate is
 *  unknown (no answer after its text, or the process died) is given up as uncertain, and only a person sends it again.
 *  Its Message-ID is the same each time, so that a mailbox can tell that two are one.
 *  Without SMTP_URL the message stays in the outbox for its page to show, and is not sent later by itself.
 *  @throws Error where another try is worth while: the queue then tries again later. */
export async function sendNotice(id: string): Promise<SendOutcome> {
  const url = env().SMTP_URL
  if (!url) {
    await db().outboxMessage.updateMany({
      where: { id, sentAt: null, failedAt: null, sendingAt: null },
      data: { failedAt: systemClock.now(), lastError: NO_SERVER },
    })
    return { status: 'shown-in-outbox' }
  }
  const until = await quietTimeOf(id)
  if (until) {
    await db().$transaction((tx) => enqueueSending(tx, id, { runAt: until }))
    return { status: 'postponed', until }
  }
  const { count } = await db().outboxMessage.updateMany({
    where: { id, sentAt: null, failedAt: null, sendingAt: null },
    data: { attempts: { increment: 1 }, sendingAt: systemClock.now(), lastError: null },
  })
  if (count === 0) {
    const lost = await giveUpLostSendings(systemClock.now(), id)
    return lost > 0 ? { status: 'unknown', reason: LOST } : { status: 'left-alone' }
  }
  const message = await db().outboxMessage.findUniqueOrThrow({ where: { id } })
  const close = (outcome: Prisma.OutboxMessageUpdateInput) =>
    db().outboxMessage.update({ where: { id }, data: { ...outcome, sendingAt: null } })

  const messageId = `<${id}@readiness.invalid>`
  try {
    await transportTo(url).sendMail({
      from: env().MAIL_FROM,
      to: message.toAddress,
      subject: message.subject,
      text: message.body,
      messageId,
      headers: { 'Content-Language': message.locale, 'Auto-Submitted': 'auto-generated' },
    })
  } catch (thrown) {
    const error = thrown as MailError
    const reason = error.message.slice(0, 500)
    if (mayHaveArrived(error, messageId)) {
      await close({ failedAt: systemClock.now(), uncertain: true, lastError: reason })
      return { status: 'unknown', reason }
    }
    if (isFinal(error)) {
      await close({ failedAt: systemClock.now(), lastError: reason })
      return { status: 'refused', reason }
    }
    await close({ lastError: reason })
    throw error
  } finally {
    onTheWay.delete(messageId)
  }
  const body = SECRET_KINDS.has(message.kind) ? BLANKED : undefined
  await close({ sentAt: systemClock.now(), lastError: null, body })
  return { status: 'sent' }
}

/** Gives up tries whose process has ended: nobody knows whether the message arrived, and staff see it as that. All, or
 *  the one of an id. Returns how many. */
export async function giveUpLostSendings(at: Date, id?: string): Promise<number> {
  const before = new Date(at.getTime() - SENDING_ENDS_AFTER_MS)
  const { count } = await db().outboxMessage.updateMany({
    where: { sendingAt: { lt: before }, sentAt: null, failedAt: null, ...(id ? { id } : {}) },
    data: { sendingAt: null, failedAt: at, uncertain: true, lastError: LOST },
  })
  return count
}
