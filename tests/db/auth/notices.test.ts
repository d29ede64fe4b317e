import { randomUUID } from 'node:crypto'
import { SMTPServer } from 'smtp-server'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { setEnv } from '@/lib/env'
import { sendAgain } from '@/lib/notices/commands'
import { writeNotice } from '@/lib/notices/outbox'
import { listOutbox } from '@/lib/notices/queries'
import { giveUpLostSendings, sendNotice } from '@/lib/notices/send'
import { offerAddress } from '@/lib/offers/link'
import { useDatabase } from '@/tests/support/database'
import { makeCounties, signedIn } from './people'

useDatabase()

const received: { to: string[]; text: string }[] = []
/** Addresses say how this server takes them. */
const server = new SMTPServer({
  disabledCommands: ['AUTH', 'STARTTLS'],
  onRcptTo({ address }, _session, done) {
    if (address.startsWith('unknown'))
      return done(Object.assign(new Error('No such mailbox'), { responseCode: 550 }))
    if (address.startsWith('later')) return done(Object.assign(new Error('Try later'), { responseCode: 451 }))
    done()
  },
  onData(stream, session, done) {
    const chunks: Buffer[] = []
    stream.on('data', (chunk: Buffer) => chunks.push(chunk))
    stream.on('end', () => {
      const to = session.envelope.rcptTo.map((recipient) => recipient.address)
      received.push({ to, text: Buffer.concat(chunks).toString() })
      // The mail is here, but the sender never hears so.
      if (to[0]!.startsWith('silent')) return dropAll()
      setTimeout(() => done(), 50)
    })
  },
})
const sockets = new Set<{ destroy(): void }>()
server.server.on('connection', (socket) => sockets.add(socket))
const dropAll = () => {
  for (const socket of sockets) socket.destroy()
}
// Connections that we cut ourselves are no failure of the test.
server.on('error', () => undefined)

beforeAll(async () => {
  await makeCounties()
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
})
afterAll(async () => {
  setEnv({ SMTP_URL: '' })
  dropAll()
  await new Promise<void>((resolve) => server.close(() => resolve()))
})
const withServer = () =>
  setEnv({ SMTP_URL: `smtp://127.0.0.1:${(server.server.address() as { port: number }).port}` })
const without = () => setEnv({ SMTP_URL: '' })

const VALUES = {
  'sign-in-code': { code: '0417 2296', minutes: 15, office: 'Own county' },
  'account-created': { name: 'Dora', address: 'https://own.example', office: 'Own county' },
}
const write = (
  address: string,
  onceKey?: string,
  locale = 'en',
  kind: keyof typeof VALUES = 'sign-in-code',
) =>
  transaction((tx) =>
    writeNotice(tx, {
      kind,
      values: VALUES[kind],
      to: { address, locale, accountId: null },
      countyId: 'own',
      onceKey,
      at: new Date(),
    }),
  ) as Promise<string>
const row = (id: string) => db().outboxMessage.findUniqueOrThrow({ where: { id } })
const arrivedAt = (address: string) => received.filter((mail) => mail.to.includes(address))

describe('a message', () => {
  it('is in the outbox and the queue if, and only if, the change is kept', async () => {
    const jobs = async () =>
      (await db().$queryRaw<{ n: number }[]>`SELECT count(*)::int AS n FROM graphile_worker.jobs`)[0]!.n
    const before = await jobs()
    const failing = transaction(async (tx) => {
      await writeNotice(tx, {
        kind: 'sign-in-code',
        values: { code: '1', minutes: 1, office: '' },
        to: { address: 'rolled@example.org', locale: 'en', accountId: null },
        countyId: null,
        at: new Date(),
      })
      throw new Error('half-way')
    })
    await expect(failing).rejects.toThrow('half-way')
    expect(await db().outboxMessage.count({ where: { toAddress: 'rolled@example.org' } })).toBe(0)
    expect(await jobs()).toBe(before)
    await write('kept@example.org')
    expect(await jobs()).toBe(before + 1)
  })

  it('stays in the outbox, readable to administrators, where no mail server is set', async () => {
    without()
    const id = await write('shown@example.org')
    expect(await sendNotice(id)).toEqual({ status: 'shown-in-outbox' })
    const [newest] = await listOutbox(await signedIn('administrator'), 'own')
    expect(newest).toMatchObject({ id, state: 'shown-only', body: expect.stringContaining('0417 2296') })
  })

  it('is sent once, however often and at once it is asked for, in the person’s language', async () => {
    withServer()
    const id = await write('ana@example.org', undefined, 'es')
    const outcomes = await Promise.all([sendNotice(id), sendNotice(id), sendNotice(id)])
    expect(outcomes.map((outcome) => outcome.status).sort()).toEqual(['left-alone', 'left-alone', 'sent'])
    expect(await sendNotice(id)).toEqual({ status: 'left-alone' })
    expect(arrivedAt('ana@example.org')).toHaveLength(1)
    expect(received.at(-1)!.text).toMatch(/Content-Language: es/)
    // The code is not kept once it is out.
    expect(await row(id)).toMatchObject({ attempts: 1, body: expect.not.stringContaining('0417') })
  })

  it('is not written twice for the same thing', async () => {
    expect(await write('bea@example.org', 'offer:1')).toEqual(expect.any(String))
    expect(await write('bea@example.org', 'offer:1')).toBeNull()
    expect(await db().outboxMessage.count({ where: { toAddress: 'bea@example.org' } })).toBe(1)
  })

  it('to a refused recipient is marked and not tried again', async () => {
    withServer()
    const id = await write('unknown@example.org')
    expect(await sendNotice(id)).toMatchObject({ status: 'refused', reason: expect.stringContaining('550') })
    expect(await sendNotice(id)).toEqual({ status: 'left-alone' })
    const [newest] = await listOutbox(await signedIn('administrator'), 'own')
    // Where mail is really sent, the page shows no codes.
    expect(newest).toMatchObject({ id, state: 'failed', body: null })
  })

  it('shows no link that answers an offer where mail is really sent, and keeps its words', async () => {
    const link = offerAddress(randomUUID())
    await transaction((tx) =>
      writeNotice(tx, {
        kind: 'offer-made',
        values: {
          name: 'Ana',
          election: 'General',
          seats: ['Lead, North Hall'],
          answerBy: 'May 1',
          link,
          office: 'Office',
          phone: '',
        },
        to: { address: 'offered@example.org', locale: 'en', accountId: null },
        countyId: 'own',
        at: new Date(),
      }),
    )
    const admin = await signedIn('administrator')
    const body = async () =>
      (await listOutbox(admin, 'own')).find((m) => m.toAddress === 'offered@example.org')!.body
    without()
    expect(await body()).toContain(link)
    withServer()
    expect(await body()).toContain('Lead, North Hall')
    expect(await body()).toContain('kept secret')
    expect(await body()).not.toContain(link.slice(-43))
  })

  it('is tried again where the server says later, or is not there', async () => {
    withServer()
    const later = await write('later@example.org')
    await expect(sendNotice(later)).rejects.toThrow(/451|Try later/)
    expect(await row(later)).toMatchObject({ sentAt: null, failedAt: null, attempts: 1 })
    const id = await write('cleo@example.org')
    setEnv({ SMTP_URL: 'smtp://127.0.0.1:1' })
    await expect(sendNotice(id)).rejects.toThrow()
    withServer()
    expect(await sendNotice(id)).toEqual({ status: 'sent' })
    expect(arrivedAt('cleo@example.org')).toHaveLength(1)
  })

  it('whose fate is unknown is not sent a second time', async () => {
    withServer()
    const id = await write('silent@example.org')
    expect(await sendNotice(id)).toMatchObject({ status: 'unknown' })
    expect(await sendNotice(id)).toEqual({ status: 'left-alone' })
    expect(arrivedAt('silent@example.org')).toHaveLength(1)
    expect(await row(id)).toMatchObject({ uncertain: true, sendingAt: null, failedAt: expect.any(Date) })
  })

  it('whose sending process died is given up as uncertain, not sent a second time', async () => {
    withServer()
    const admin = await signedIn('administrator')
    const claimed = await write('dora@example.org')
    const begunAgo = (minutes: number) =>
      db().outboxMessage.update({
        where: { id: claimed },
        data: { attempts: 1, sendingAt: new Date(Date.now() - minutes * 60_000) },
      })
    const shown = async () => (await listOutbox(admin, 'own')).find((m) => m.id === claimed)
    await begunAgo(14)
    expect(await sendNotice(claimed)).toEqual({ status: 'left-alone' })
    expect(await giveUpLostSendings(new Date())).toBe(0)
    expect(await shown()).toMatchObject({ state: 'sending' })
    await begunAgo(16)
    expect(await sendNotice(claimed)).toMatchObject({ status: 'unknown' })
    expect(await shown()).toMatchObject({ state: 'uncertain', lastError: expect.stringContaining('ended') })
    expect(await sendNotice(claimed)).toEqual({ status: 'left-alone' })
    // What runs by the clock finds those that nobody asks for again.
    await db().outboxMessage.update({ where: { id: claimed }, data: { failedAt: null, uncertain: false } })
    await begunAgo(16)
    expect(await giveUpLostSendings(new Date())).toBe(1)
    expect(arrivedAt('dora@example.org')).toHaveLength(0)
  })

  it('of unknown fate is sent again where an administrator decides so, under the same Message-ID; a code never', async () => {
    withServer()
    const admin = await signedIn('administrator')
    const id = await write('silent@example.org', undefined, 'en', 'account-created')
    const before = arrivedAt('silent@example.org').length
    expect(await sendNotice(id)).toMatchObject({ status: 'unknown' })
    expect((await listOutbox(admin, 'own')).find((m) => m.id === id)).toMatchObject({
      state: 'uncertain',
      maySendAgain: true,
    })
    await expect(sendAgain(await signedIn('trainer'), 'own', id)).rejects.toMatchObject({ code: 'FORBIDDEN' })
    await expect(sendAgain(admin, 'other', id)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await sendAgain(admin, 'own', id)
    await expect(sendAgain(admin, 'own', id)).rejects.toMatchObject({ code: 'CONFLICT' })
    expect(await sendNotice(id)).toMatchObject({ status: 'unknown' })
    const mails = arrivedAt('silent@example.org').slice(before)
    expect(mails).toHaveLength(2)
    const [first, second] = mails.map((mail) => /^Message-ID: (.+)$/im.exec(mail.text)?.[1]?.trim())
    expect(first).toBe(`<${id}@readiness.invalid>`)
    expect(second).toBe(first)
    const event = await db().auditRecord.findMany({ where: { subject: `message:${id}` } })
    expect(event.map((e) => e.event)).toEqual(['message.sent-again'])

    const code = await write('silent@example.org')
    await sendNotice(code)
    expect((await listOutbox(admin, 'own')).find((m) => m.id === code)).toMatchObject({ maySendAgain: false })
    await expect(sendAgain(admin, 'own', code)).rejects.toMatchObject({ code: 'CONFLICT' })
  })
})
