import { beforeAll, describe, expect, it } from 'vitest'
import { recordFact } from '@/lib/certification/commands'
import { db } from '@/lib/db/client'
import { transaction } from '@/lib/db/transaction'
import { addMonths } from '@/lib/kernel/dates'
import { setQuietHours } from '@/lib/notices/commands'
import { QuietHours } from '@/lib/notices/core/quiet-hours'
import { sendNotice } from '@/lib/notices/send'
import { lettersPdf } from '@/lib/papers/letter'
import {
  askForReminders,
  markReturned,
  recordCall,
  WRITE_REMINDERS,
  writeReminders,
} from '@/lib/reminders/commands'
import { getBatchOrThrow, getLapses, getReminders } from '@/lib/reminders/queries'
import { listLetters } from '@/lib/reminders/queries-letters'
import type { Prisma } from '@/prisma/client/client'
import { useDatabase } from '@/tests/support/database'
import { eventsAbout, mailTo, makeTrainee, makeTrainingCounty, today } from '../classes/support'
import { makeActor } from '../scenarios/people'

useDatabase()

let county: Awaited<ReturnType<typeof makeTrainingCounty>>
const ids: Record<string, string> = {}

/** Certified by one check-off so many months ago, which counts for 12. */
async function certified(name: string, monthsAgo: number, more: object = {}, languages = ['en']) {
  const who = await makeTrainee((more as { email?: string }).email ?? null, languages)
  ids[name] = who.pollWorkerId!
  await db().pollWorker.update({ where: { id: ids[name] }, data: { familyName: name, ...more } })
  await transaction((tx) =>
    recordFact(
      tx,
      { accountId: county.trainer.accountId, at: new Date() },
      {
        countyId: 'larkmoor',
        workerId: ids[name]!,
        kind: 'checkOff',
        topic: 'card-handling',
        on: addMonths(today(), -monthsAgo),
        equipmentProfile: 'fern',
      },
    ),
  )
  return who
}

beforeAll(async () => {
  county = await makeTrainingCounty()
  await db().ruleSet.create({
    data: {
      countyId: 'larkmoor',
      certificateKey: 'lead',
      version: 2,
      effectiveFrom: '2020-01-01',
      citation: 'none yet',
      requirement: {
        kind: 'evidence',
        fact: 'checkOff',
        topic: 'card-handling',
        window: { kind: 'months', months: 12 },
        label: { en: 'Show the cards', es: 'Muestre las tarjetas' },
      } as unknown as Prisma.InputJsonValue,
    },
  })
  // The election is 60 days away: what was done 11 months ago ends before it, what was done 9 months ago doesn't.
  await certified('Mail', 11, { email: 'mail@example.org' })
  await certified('Correo', 11, { email: 'correo@example.org' }, ['es', 'en'])
  await certified('Post', 11, { homeAddress: '12 Oak Street, Larkmoor, AD 50001' })
  await certified('Hidden', 11, { homeAddress: '1 Secret Road, Larkmoor', confidentialAddress: true })
  await certified('Nowhere', 11, { phone: '555-0100' })
  await certified('Fine', 9, { email: 'fine@example.org' })
  await certified('Gone', 11, { email: 'gone@example.org', active: false })
})

const ask = () => askForReminders(county.clerk, { countyId: 'larkmoor', electionId: county.electionId })

describe('who lapses', () => {
  it('is whoever holds a certificate today and not on election day, by role, place and week', async () => {
    const view = await getLapses(county.clerk, 'larkmoor')
    expect(view.rows.map((row) => row.name.split(',')[0]).sort()).toEqual([
      'Correo',
      'Hidden',
      'Mail',
      'Nowhere',
      'Post',
    ])
    const until = addMonths(addMonths(today(), -11), 12)
    expect(view.rows.every((row) => row.lapsesOn === until && !row.written)).toBe(true)
    const [lead] = view.byRole
    expect(lead).toMatchObject({ name: 'Lead', holdToday: 6, lapsing: 5 })
    expect(lead!.counts.reduce((a, b) => a + b, 0)).toBe(5)
    expect(view.byPlace).toEqual([{ id: null, name: 'No seat yet', precincts: [], lapsing: 5, people: 5 }])
    await expect(getLapses(county.trainer, 'larkmoor')).rejects.toMatchObject({ code: 'FORBIDDEN' })
    await expect(getLapses(county.stranger, 'larkmoor')).rejects.toMatchObject({ code: 'NOT_FOUND' })
  })
})

describe('a batch of reminders', () => {
  it('writes each person once, by mail or letter in their language, however often its job runs', async () => {
    expect((await getReminders(county.clerk, 'larkmoor')).plan).toEqual({
      mail: 2,
      letter: 2,
      none: 1,
      before: 0,
    })
    await expect(
      askForReminders(county.trainer, { countyId: 'larkmoor', electionId: county.electionId }),
    ).rejects.toMatchObject({ code: 'FORBIDDEN' })
    const { batchId } = await ask()
    await expect(ask()).rejects.toMatchObject({ code: 'CONFLICT' })
    const jobs = await db().$queryRaw<{ n: number }[]>`
      SELECT count(*)::int AS n FROM graphile_worker.jobs WHERE task_identifier = ${WRITE_REMINDERS}`
    expect(jobs).toEqual([{ n: 1 }])
    await Promise.all([writeReminders(batchId), writeReminders(batchId), writeReminders(batchId)])
    await writeReminders(batchId)
    const batch = await getBatchOrThrow(county.clerk, 'larkmoor', batchId)
    expect(batch).toMatchObject({ mail: 2, letters: 2, unreachable: 1, skipped: 0, printable: 2 })
    expect(await mailTo('mail@example.org')).toMatchObject([
      { kind: 'certificate-lapses', body: expect.stringMatching(/Lead: through .*\n[\s\S]*Show the cards/) },
    ])
    expect(await mailTo('correo@example.org')).toMatchObject([
      { locale: 'es', body: expect.stringContaining('Muestre las tarjetas') },
    ])
    for (const address of ['fine@example.org', 'gone@example.org']) expect(await mailTo(address)).toEqual([])
    expect((await eventsAbout('county:larkmoor')).filter((e) => e.startsWith('reminders'))).toEqual([
      'reminders.asked',
      'reminders.written',
    ])

    // A second batch finds nobody; one who lapses anew is written to about that alone.
    const second = (await ask()).batchId
    await writeReminders(second)
    expect(await getBatchOrThrow(county.clerk, 'larkmoor', second)).toMatchObject({
      mail: 0,
      letters: 0,
      skipped: 5,
    })
    await certified('Late', 11, { email: 'late@example.org' })
    const third = (await ask()).batchId
    await writeReminders(third)
    expect(await getBatchOrThrow(county.clerk, 'larkmoor', third)).toMatchObject({ mail: 1, skipped: 5 })
    expect(await mailTo('mail@example.org')).toHaveLength(1)
  })

  it('goes on where it was after a failure half-way', async () => {
    await certified('Half', 11, { email: 'half@example.org' })
    const { batchId } = await ask()
    const key = `lapse:${ids.Half}`
    // A row that can't be written: the whole chunk is rolled back and nobody was written to.
    await db()
      .$executeRaw`ALTER TABLE "OutboxMessage" ADD CONSTRAINT broken CHECK ("toAddress" <> 'half@example.org')`
    await expect(writeReminders(batchId)).rejects.toThrow()
    expect(await db().reminderMatter.count({ where: { onceKey: { startsWith: key } } })).toBe(0)
    await db().$executeRaw`ALTER TABLE "OutboxMessage" DROP CONSTRAINT broken`
    await writeReminders(batchId)
    expect(await mailTo('half@example.org')).toHaveLength(1)
  })

  it('shows whom nobody has reached: refused mail, returned letters, no address; until a call did', async () => {
    const [first] = await db().reminderBatch.findMany({ orderBy: { createdAt: 'asc' } })
    const names = async () =>
      (await getBatchOrThrow(county.clerk, 'larkmoor', first!.id)).rows
        .filter((row) => row.toReach)
        .map((row) => `${row.name.split(',')[0]} ${row.state}`)
    expect(await names()).toEqual(['Nowhere unreachable'])
    await db().outboxMessage.updateMany({
      where: { toAddress: 'mail@example.org' },
      data: { failedAt: new Date(), lastError: '550 No such mailbox' },
    })
    const rows = (await getBatchOrThrow(county.clerk, 'larkmoor', first!.id)).rows
    const post = rows.find((row) => row.name.startsWith('Post'))!
    await expect(markReturned(county.trainer, post.id)).rejects.toMatchObject({ code: 'FORBIDDEN' })
    await markReturned(county.clerk, post.id)
    await markReturned(county.clerk, post.id)
    expect(await names()).toEqual(['Mail refused', 'Nowhere unreachable', 'Post returned'])
    expect(rows.find((row) => row.state === 'refused')?.why).toBe('550 No such mailbox')
    await db().outboxMessage.updateMany({
      where: { toAddress: 'correo@example.org' },
      data: { failedAt: new Date(), uncertain: true, lastError: 'cut off' },
    })
    expect(await names()).toContain('Correo uncertain')
    await db().outboxMessage.updateMany({
      where: { toAddress: 'correo@example.org' },
      data: { uncertain: false, failedAt: null, lastError: null },
    })
    const [correo] = await db().outboxMessage.findMany({ where: { toAddress: 'correo@example.org' } })
    expect(await sendNotice(correo!.id)).toEqual({ status: 'shown-in-outbox' })
    expect(await names()).toContain('Correo unsent')
    await db().outboxMessage.update({
      where: { id: correo!.id },
      data: { sentAt: new Date(), failedAt: null, lastError: null },
    })
    const call = { workerId: ids.Nowhere!, outcome: 'no-answer' as const, note: '' }
    await expect(recordCall(county.stranger, call)).rejects.toMatchObject({ code: 'NOT_FOUND' })
    await recordCall(county.clerk, call)
    expect(await names()).toContain('Nowhere unreachable')
    await recordCall(county.clerk, { ...call, outcome: 'reached', note: 'comes on Monday' })
    expect(await names()).toEqual(['Mail refused', 'Post returned'])
    expect((await eventsAbout(`worker:${ids.Post}`)).filter((e) => e === 'letter.returned')).toHaveLength(1)
  })

  it('prints letters for those by post and those whose mail was refused; protected addresses stay so', async () => {
    const [first] = await db().reminderBatch.findMany({ orderBy: { createdAt: 'asc' } })
    const admin = await makeActor('administrator', 'larkmoor')
    // Refused mail without an address can only be called.
    expect((await listLetters(admin, 'larkmoor', first!.id)).map((l) => l.name)).toEqual(['Ana Hidden'])
    await db().pollWorker.update({ where: { id: ids.Mail! }, data: { homeAddress: '5 Post Lane, Larkmoor' } })
    const forClerk = await listLetters(county.clerk, 'larkmoor', first!.id)
    expect(forClerk.map((letter) => [letter.name, letter.address])).toEqual([
      ['Ana Hidden', null],
      ['Ana Mail', '5 Post Lane, Larkmoor'],
    ])
    const forAdmin = await listLetters(admin, 'larkmoor', first!.id)
    expect(forAdmin.map((letter) => letter.address)).toEqual([
      '1 Secret Road, Larkmoor',
      '5 Post Lane, Larkmoor',
    ])
    expect(forAdmin[0]!.body).toContain('Lead: through')
    expect(forAdmin[0]!.body).toContain('please call us.')
    const before = await db().county.findUniqueOrThrow({ where: { id: 'larkmoor' } })
    await db().county.update({
      where: { id: 'larkmoor' },
      data: { settings: { ...(before.settings as object), offers: { officePhone: '555 0100' } } },
    })
    const [withPhone] = await listLetters(admin, 'larkmoor', first!.id)
    expect(withPhone!.body).toContain('please call us at 555 0100.')
    const pdf = await lettersPdf(forAdmin, new Date())
    expect(pdf.subarray(0, 5).toString()).toBe('%PDF-')
    expect(pdf.toString('latin1').match(/\/Type \/Page\b/g)).toHaveLength(2)
  })
})

describe('quiet hours', () => {
  it('are set by an administrator of the county alone, beside its other settings', async () => {
    const hours = { countyId: 'larkmoor', ...QuietHours.parse({ from: '20:00', until: '09:00' }) }
    await expect(setQuietHours(county.clerk, hours)).rejects.toMatchObject({ code: 'FORBIDDEN' })
    await setQuietHours(await makeActor('administrator', 'larkmoor'), hours)
    expect((await db().county.findUniqueOrThrow({ where: { id: 'larkmoor' } })).settings).toMatchObject({
      quietHours: { from: '20:00', until: '09:00' },
    })
  })
})
